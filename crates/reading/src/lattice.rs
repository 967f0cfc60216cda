//! The lattice over a stretch of tokens: every phrase, idiom and name of rows that may stand at each place.

mod asides;
mod context;
mod idioms;
mod terminals;

use std::collections::{BTreeSet, HashMap};

use loops::Op;
use notation::{Found, From, Lexicon, Meaning, Printed, SenseId};
use span::Span;

use crate::forest::Edge;
use crate::grammar::Terminal;
use crate::lexer::{Gap, Token, TokenKind};
use crate::rowset::{RowSet, Which, rows_at};
use crate::words::WORDS;

use self::context::{hangs, is_named_in, is_of_each, is_talk, leads_on, makes_up, refers};
pub use self::idioms::{BadIdioms, Idioms};
pub use self::terminals::Terminals;

/// Nats against a number of times that is parted from the words that it follows and not from the next.
const TIMES_PARTED: f64 = 1.0;
/// Nats against reading how often before what is repeated where a comma parts them. A guess.
const TIMES_ASIDE: f64 = 1.0;

/// What stands behind an edge.
#[derive(Clone, Debug)]
pub enum Payload {
    /// A phrase with a sense.
    Sense {
        /// The sense.
        sense: SenseId,
        /// Its numbers.
        numbers: [Option<u32>; 2],
        /// Where the first number stands.
        number: Option<Span>,
    },
    /// An idiom with its numbers.
    Idiom {
        /// Its numbers.
        numbers: [Option<u32>; 2],
        /// Where the first number stands.
        number: Option<Span>,
    },
    /// A name of rows.
    Rows(RowSet),
    /// A token by itself.
    Token,
}

/// An edge's words and what stands behind it.
#[derive(Clone, Debug)]
pub struct Leaf {
    /// The terminal.
    pub terminal: Terminal,
    /// The words.
    pub span: Span,
    /// What parts them from the words that follow.
    pub after: Gap,
    /// What it is.
    pub payload: Payload,
}

/// Edges by the place where they begin, and their payloads.
#[derive(Debug, Default)]
pub struct Lattice {
    /// Edges.
    pub edges: Vec<Vec<Edge>>,
    /// Payloads by index.
    pub leaves: Vec<Leaf>,
    /// What may begin at each place: 0 nothing, 1 a statement, 2 a clause after a semicolon, 3 a sentence.
    pub breaks: Vec<u8>,
    /// The book-wide questions that its words raise, whatever the answers in force.
    pub asked: BTreeSet<String>,
}

/// The answers in force to the questions that hold for a whole book.
pub type Answers = HashMap<String, String>;

/// Makes lattices.
pub struct Weaver<'a> {
    /// The senses.
    pub lexicon: &'a Lexicon,
    /// The idioms.
    pub idioms: &'a Idioms,
    /// The terminals.
    pub terminals: Terminals,
    /// The answers in force; a sense that gives another answer is left out.
    pub answers: &'a Answers,
    /// Whether words may be passed over inside a row.
    pub odd: bool,
    /// Whether a clause may be passed over.
    pub clauses: bool,
}

/// How strongly the text breaks where a sentence begins.
const SENTENCE: u8 = 3;

/// Nats against a phrase that takes a part of a term which the book explains. A guess.
const TORN: f64 = 3.0;

/// Nats against a phrase whose last letter follows a comma and is a stitch by itself. A guess.
const APART: f64 = 2.0;

/// Nats against passing one of them over beside other words.
const VERB_UNREAD: f64 = 1.0;

impl Weaver<'_> {
    /// The tokens as the phrases of the senses see them.
    fn by_sense(&self, tokens: &[Token]) -> Vec<Printed> {
        tokens.iter().map(|token| token.printed(self.lexicon.word(&token.text))).collect()
    }

    /// The tokens as the phrases of the idioms see them.
    fn by_idiom(&self, tokens: &[Token]) -> Vec<Printed> {
        tokens.iter().map(|token| token.printed(self.idioms.book.word(&token.text))).collect()
    }

    /// The phrases in some tokens, each with the place where it begins.
    pub fn phrases(&self, tokens: &[Token]) -> Vec<(usize, Found)> {
        let (by_sense, by_idiom) = (self.by_sense(tokens), self.by_idiom(tokens));
        let (mut found, mut senses) = (Vec::new(), Vec::new());
        for at in 0..tokens.len() {
            self.lexicon.matches(&by_sense, at, &mut senses);
            found.extend(senses.iter().map(|(one, _)| (at, *one)));
            self.idioms.book.matches(&by_idiom, at, &mut |one| found.push((at, one)));
        }
        found
    }

    /// The lattice over some tokens.
    pub fn weave(&self, tokens: &[Token]) -> Lattice {
        let (by_sense, by_idiom) = (self.by_sense(tokens), self.by_idiom(tokens));
        let mut draft = Draft { tokens, lattice: Lattice::default(), within_terms: BTreeSet::new() };
        draft.within_terms = self.within_terms(tokens, &by_sense);
        for at in 0..tokens.len() {
            draft.lattice.edges.push(Vec::new());
            let label = self.row_edges(&mut draft, at);
            self.token_edges(&mut draft, at, label);
            self.idiom_edges(&mut draft, &by_idiom, at);
            self.sense_edges(&mut draft, &by_sense, at);
            self.aside_edge(&mut draft, at);
            self.intro_edge(&mut draft, at);
            self.remark_edge(&mut draft, at);
            self.result_edge(&mut draft, at);
            self.heading_edge(&mut draft, at);
            self.headed_edge(&mut draft, at);
            self.onward_edge(&mut draft, at);
            // "After the second two together", "is begun first": a bare ordinal may name no row.
            let leaves = &draft.lattice.leaves;
            let hangs = tokens[at].gap == Gap::None && hangs(&tokens[..at]);
            let explicit = |edge: &Edge| match &leaves[edge.payload as usize].payload {
                Payload::Rows(rows) if rows.names_many() && is_of_each(&tokens[..at]) => false,
                Payload::Rows(rows) => {
                    rows.explicit || tokens[at].gap != Gap::None || is_named_in(&tokens[..at])
                }
                _ => false,
            };
            let mut names =
                draft.lattice.edges[at].iter().filter(|edge| edge.terminal == self.terminals.rows);
            let bare = hangs && names.clone().next().is_some();
            let rows = names.any(explicit);
            let casts =
                draft.lattice.edges[at].iter().any(|edge| self.terminals.casts.contains(&edge.terminal));
            let named = rows && !refers(&tokens[..at]);
            let statement =
                tokens[at].gap >= Gap::Comma || named || !bare && leads_on(&tokens[..at]) || casts;
            let sentence = at == 0 || tokens[at].gap >= Gap::Colon || self.is_behind_a_note(&draft, at);
            draft.lattice.breaks.push(match tokens[at].gap {
                _ if sentence => SENTENCE,
                Gap::Semicolon => 2,
                _ => u8::from(statement),
            });
        }
        draft.lattice
    }

    /// "Take the white; knit three, …": whether a sentence has so far said nothing but the wool, or the like.
    fn is_behind_a_note(&self, draft: &Draft<'_>, at: usize) -> bool {
        const WORDS: usize = 8;
        let notes = [self.terminals.note, self.terminals.coloured];
        draft.tokens[at].gap >= Gap::Comma
            && (at.saturating_sub(WORDS)..at).any(|from| {
                let is_note = |edge: &Edge| edge.to as usize == at && notes.contains(&edge.terminal);
                draft.lattice.breaks[from] == SENTENCE && draft.lattice.edges[from].iter().any(is_note)
            })
    }

    /// The places inside of terms of several words that the book itself explains, and of abbreviations of several letters.
    fn within_terms(&self, tokens: &[Token], words: &[Printed]) -> BTreeSet<usize> {
        let mut within = BTreeSet::new();
        let mut found = Vec::new();
        let explains = self.lexicon.senses().any(|(_, sense)| sense.from == From::Glossary);
        for at in (0..tokens.len()).filter(|at| explains || tokens[*at].text.len() == 1) {
            self.lexicon.matches(words, at, &mut found);
            let joined = |end: usize| tokens[at + 1..end].iter().all(|token| token.gap < Gap::Comma);
            let letters =
                |end: usize| end > at + 2 && tokens[at..end].iter().all(|token| token.text.len() == 1);
            let terms = found.iter().filter(|(one, id)| {
                let end = at + one.len;
                let explained = self.lexicon.sense(*id).from == From::Glossary;
                (explained || letters(end)) && one.numbers == [None; 2] && joined(end)
            });
            terms.for_each(|(one, _)| within.extend(at + 1..at + one.len));
        }
        within
    }

    /// The tokens that no idiom, name of rows or aside accounts for; a phrase that stands for stitches, or says how
    /// often, does not count here, because it may be one that was not read so.
    pub fn unaccounted(&self, tokens: &[Token]) -> Vec<Span> {
        let lattice = self.weave(tokens);
        let mut accounted = vec![false; tokens.len()];
        let t = &self.terminals;
        let by_itself =
            [t.word, t.start, t.odd, t.clause, t.intro, t.remark, t.number, t.before, t.times[0], t.times[1]];
        for (at, edges) in lattice.edges.iter().enumerate() {
            for edge in edges.iter().filter(|edge| !by_itself.contains(&edge.terminal)) {
                if !matches!(lattice.leaves[edge.payload as usize].payload, Payload::Sense { .. }) {
                    accounted[at..edge.to as usize].fill(true);
                }
            }
        }
        let words =
            tokens.iter().zip(accounted).filter(|(token, known)| !known && token.kind == TokenKind::Word);
        words.map(|(token, _)| token.span).collect()
    }

    fn token_edges(&self, draft: &mut Draft<'_>, at: usize, label: Option<Label>) {
        let token = &draft.tokens[at];
        let terminal = match token.kind {
            TokenKind::Open => Some(self.terminals.open),
            TokenKind::Close => Some(self.terminals.close),
            TokenKind::Star => Some(self.terminals.star),
            TokenKind::Word if token.number.is_some() => Some(self.terminals.number),
            TokenKind::Word => None,
        };
        let idiom =
            Payload::Idiom { numbers: [token.number, None], number: token.number.map(|_| token.span) };
        if let Some(terminal) = terminal {
            draft.add(at, at + 1, terminal, 0.0, idiom);
        }
        let sentence = at == 0 || token.gap >= Gap::Colon;
        let labelled = label == Some(Label::Explicit);
        let verb = self.lexicon.word(&token.text).is_some() && WORDS.verbs.contains(&token.text);
        let passed = if verb { VERB_UNREAD } else { 0.0 };
        if !sentence {
            // Nor does a clause that begins so stand beside what is told of others.
            let passed = if label.is_some() && token.gap >= Gap::Comma { LABEL_UNREAD } else { passed };
            draft.add(at, at + 1, self.terminals.word, passed, Payload::Token);
        }
        if self.odd {
            draft.add(at, at + 1, self.terminals.odd, self.weight(token), Payload::Token);
        }
        if sentence {
            // A sentence that begins with the number of a row is not prose.
            let cost = if labelled { LABEL_UNREAD } else { 0.0 };
            let alone =
                if draft.tokens.get(at + 1).is_some_and(|next| next.number.is_some()) { passed } else { 0.0 };
            draft.add(at, at + 1, self.terminals.start, cost + 2.0 * alone, Payload::Token);
        } else if self.clauses && token.gap >= Gap::Comma {
            let cost = if labelled { LABEL_UNREAD } else { 0.0 };
            draft.add(at, at + 1, self.terminals.clause, cost, Payload::Token);
        }
    }

    /// Nats against passing a word over inside a row: much for a number or a word of the stitches, little for
    /// any other. Guesses, set so that a misprint is never explained away by not reading a word.
    fn weight(&self, token: &Token) -> f64 {
        if token.number.is_some() || token.kind != TokenKind::Word {
            8.0
        } else if self.lexicon.word(&token.text).is_some() && !WORDS.common.contains(&token.text) {
            6.0
        } else {
            1.6
        }
    }

    /// Adds the names of rows; true if one of them is a number.
    fn row_edges(&self, draft: &mut Draft<'_>, at: usize) -> Option<Label> {
        let mut found = Vec::new();
        rows_at(draft.tokens, at, &mut found);
        let label = |(end, rows): &(usize, RowSet)| {
            let next = draft.tokens.get(*end).map_or("", |next| next.text.as_str());
            match rows.which {
                Which::Numbers(_) if rows.explicit => Some(Label::Explicit),
                Which::Numbers(_) if matches!(next, "as" | "like") => Some(Label::Likened),
                _ => None,
            }
        };
        let labels = found.iter().filter_map(label).max();
        for (end, rows) in found {
            let figure =
                matches!(&rows.which, Which::Numbers(numbers) if numbers.iter().any(|number| *number > 100));
            let cost = if rows.explicit {
                0.0
            } else if figure {
                5.0
            } else {
                0.3
            };
            let terminal = if rows.told.is_some() { self.terminals.told_rows } else { self.terminals.rows };
            draft.add(at, end, terminal, cost, Payload::Rows(rows));
        }
        labels
    }

    fn idiom_edges(&self, draft: &mut Draft<'_>, words: &[Printed], at: usize) {
        let mut found = Vec::new();
        self.idioms.book.matches(words, at, &mut |one| found.push(one));
        for one in found {
            let idiom = &self.idioms.entries[one.entry as usize];
            let casts = self.terminals.casts[..2].contains(&idiom.terminal);
            if casts && (is_talk(draft.tokens, at) || makes_up(draft.tokens, at)) {
                continue;
            }
            // "There will be thirty-six rows", "until there are sixteen points": these count no stitches.
            if [self.terminals.count, self.terminals.count_left].contains(&idiom.terminal)
                && draft.tokens.get(at + one.len).is_some_and(|next| WORDS.no_stitches.contains(&next.text))
            {
                continue;
            }
            // "As the third, but 2 knitted stitches before …": the number is no other one for the third's.
            let ends_in_number = one.numbers[0].is_some_and(|offset| usize::from(offset) + 1 == one.len);
            if self.terminals.with_number == idiom.terminal
                && ends_in_number
                && draft.tokens.get(at + one.len).is_some_and(|next| {
                    next.gap == Gap::None && ["knitted", "purled", "pearled"].contains(&next.text.as_str())
                })
            {
                continue;
            }
            // "Twice, over" is not "twice over".
            let inner = &draft.tokens[at + 1..at + one.len];
            if self.terminals.times.contains(&idiom.terminal)
                && inner.iter().any(|token| token.gap >= Gap::Comma)
            {
                continue;
            }
            // "Nine times over" is not "nine times, over".
            let over = draft
                .tokens
                .get(at + one.len)
                .is_some_and(|next| next.gap == Gap::None && next.text == "over");
            if self.terminals.times[0] == idiom.terminal && over {
                continue;
            }
            let value = |slot: Option<u16>| slot.and_then(|offset| words[at + offset as usize].value());
            let numbers = [idiom.n.or(value(one.numbers[0])), value(one.numbers[1])];
            let number = one.numbers[0].map(|offset| draft.tokens[at + offset as usize].span);
            let next = draft.tokens.get(at + one.len).map_or(Gap::Paragraph, |next| next.gap);
            let times = idiom.terminal == self.terminals.times[0];
            let before = times && matches!(next, Gap::None | Gap::Colon);
            // "Then, nine times over, purl two, …"
            let begins = draft.tokens[at].gap >= Gap::Semicolon || leads_on(&draft.tokens[..at]);
            let aside = times && next == Gap::Comma && begins;
            if before || aside {
                let payload = Payload::Idiom { numbers, number };
                let cost = idiom.cost + if aside { TIMES_ASIDE } else { 0.0 };
                draft.add(at, at + one.len, self.terminals.before, cost, payload);
            }
            // "Knit 2; 3 times knit 1, purl 1": what is parted from the words before and not from those after.
            let parted = before && draft.tokens[at].gap >= Gap::Semicolon;
            let cost = idiom.cost + if parted { TIMES_PARTED } else { 0.0 };
            if idiom.terminal == self.terminals.count && draft.tokens[at].gap < Gap::Period {
                draft.add(at, at + one.len, self.terminals.counted, cost, Payload::Idiom { numbers, number });
            }
            draft.add(at, at + one.len, idiom.terminal, cost, Payload::Idiom { numbers, number });
        }
    }

    /// "Th o, n": whether a letter after a comma is a stitch by itself.
    fn stands_alone(&self, tokens: &[Token], words: &[Printed], at: usize) -> bool {
        if tokens[at].gap != Gap::Comma || tokens[at].text.len() > 1 || tokens[at].number.is_some() {
            return false;
        }
        let mut found = Vec::new();
        self.lexicon.matches(words, at, &mut found);
        found.iter().any(|(one, _)| one.len == 1)
    }

    fn sense_edges(&self, draft: &mut Draft<'_>, words: &[Printed], at: usize) {
        let mut found = Vec::new();
        self.lexicon.matches(words, at, &mut found);
        for (one, id) in found {
            let sense = self.lexicon.sense(id);
            // "K 6 rows" tells no six stitches.
            let ends_in_number = one.numbers[0].is_some_and(|offset| usize::from(offset) + 1 == one.len);
            let next = draft.tokens.get(at + one.len).filter(|next| next.gap == Gap::None);
            if ends_in_number && next.is_some_and(|next| WORDS.no_stitches.contains(&next.text)) {
                continue;
            }
            if let Some((question, answer)) = &sense.choice {
                draft.lattice.asked.insert(question.clone());
                if self.answers.get(question).is_some_and(|given| given != answer) {
                    continue;
                }
            }
            let terminal = match sense.meaning {
                Meaning::Stitches(_) | Meaning::Family(_) => self.terminals.stitch,
                Meaning::Rest(_) => self.terminals.rest,
                Meaning::Row(_) => self.terminals.row,
                Meaning::Move(_) => self.terminals.movement,
            };
            let value = |slot: Option<u16>| slot.and_then(|offset| words[at + offset as usize].value());
            let numbers = [value(one.numbers[0]), value(one.numbers[1])];
            let number = one.numbers[0].map(|offset| draft.tokens[at + offset as usize].span);
            let parted: f64 =
                draft.tokens[at + 1..at + one.len].iter().map(|token| gap_cost(token.gap)).sum();
            // A number after a comma begins another phrase: "over, 2" is not "over twice".
            let last = &draft.tokens[at + one.len - 1];
            if one.len > 1 && last.number.is_some() && last.gap >= Gap::Comma {
                continue;
            }
            // "K 2, k 2, t t o" holds no "k 2 t" where the book explains what "t t o" is.
            let cut = [at, at + one.len].iter().any(|place| draft.within_terms.contains(place));
            let torn = if cut && sense.from == From::Notation { TORN } else { 0.0 };
            let apart = if one.len > 1 && self.stands_alone(draft.tokens, words, at + one.len - 1) {
                APART
            } else {
                0.0
            };
            let cost = parted + torn + apart + if sense.choice.is_some() { 0.0 } else { sense.cost };
            let words = draft.tokens[at..at + one.len].iter().map(|token| token.text.as_str());
            // "Cast off 16" is not casting off all.
            let counted = |token: &Token| token.number.is_some() && token.gap < Gap::Comma;
            let some = draft.tokens.get(at + one.len).is_some_and(counted) || is_talk(draft.tokens, at);
            if matches!(sense.meaning, Meaning::Row(Op::Bo)) && !some {
                let payload = Payload::Sense { sense: id, numbers, number };
                draft.add(at, at + one.len, self.terminals.off, cost, payload);
            }
            let line = terminal == self.terminals.row
                && words
                    .into_iter()
                    .skip(1)
                    .any(|word| matches!(word, "across" | "back" | "row" | "round" | "plain" | "once"));
            if line {
                let payload = Payload::Sense { sense: id, numbers, number };
                draft.add(at, at + one.len, self.terminals.line, cost, payload);
            }
            draft.add(at, at + one.len, terminal, cost, Payload::Sense { sense: id, numbers, number });
        }
    }
}

/// How a name of rows with numbers stands at a place.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Label {
    /// "The 7th as the 3rd".
    Likened,
    /// "The 7th row".
    Explicit,
}

/// Nats against taking a sentence that begins with the number of a row for talk. Guess: a row with up to ten strange
/// words among it is still a row.
const LABEL_UNREAD: f64 = 6.0;

/// Nats against a phrase that runs on over a gap. Guess: a comma may stand inside a phrase, but two phrases are
/// likelier.
fn gap_cost(gap: Gap) -> f64 {
    match gap {
        Gap::None | Gap::Point => 0.0,
        Gap::Comma => 0.3,
        _ => 0.4,
    }
}

impl Payload {
    /// Whether two payloads of the same terminal over the same words are one reading, however they were found.
    fn is_like(&self, other: &Payload) -> bool {
        match (self, other) {
            (Payload::Sense { sense, numbers, .. }, Payload::Sense { sense: other, numbers: others, .. }) => {
                sense == other && numbers == others
            }
            (Payload::Idiom { numbers, .. }, Payload::Idiom { numbers: others, .. }) => numbers == others,
            (Payload::Idiom { numbers, .. }, Payload::Token)
            | (Payload::Token, Payload::Idiom { numbers, .. }) => *numbers == [None; 2],
            (Payload::Token, Payload::Token) => true,
            _ => false,
        }
    }
}

struct Draft<'a> {
    tokens: &'a [Token],
    lattice: Lattice,
    /// The places inside of terms of several words.
    within_terms: BTreeSet<usize>,
}

impl Draft<'_> {
    /// Adds an edge; one that is found on two ways is one edge, of the lesser cost.
    fn add(&mut self, at: usize, to: usize, terminal: Terminal, cost: f64, payload: Payload) {
        let to_place = u32::try_from(to).unwrap_or(u32::MAX);
        let Lattice { edges, leaves, .. } = &mut self.lattice;
        let same = |edge: &&mut Edge| {
            (edge.to, edge.terminal) == (to_place, terminal)
                && leaves[edge.payload as usize].payload.is_like(&payload)
        };
        if let Some(edge) = edges[at].iter_mut().find(same) {
            edge.cost = edge.cost.min(cost);
            return;
        }
        let span = self.tokens[at].span.to(self.tokens[to - 1].span);
        let index = u32::try_from(leaves.len()).unwrap_or(u32::MAX);
        let after = self.tokens.get(to).map_or(Gap::Paragraph, |next| next.gap);
        leaves.push(Leaf { terminal, span, after, payload });
        edges[at].push(Edge { to: to_place, terminal, payload: index, cost });
    }
}
