//! The reader: text in, programs out, with the choices that were made on the way.
//!
//! ```text
//! text ─ lexer ─▶ tokens ─ lattice ─▶ edges ─ forest ─▶ statements ─ plan ─▶ rows ─ chain ─▶ pieces
//! ```
//!
//! Questions that hold for a whole book (is P plain or purl?) are asked outside: the text is read once under each
//! answer, and the cheapest reading wins.

mod frame;

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;

use loops::{Op, Piece, WorkedPiece, work};
use notation::Lexicon;
use span::Span;

use self::frame::{between_told, framed, leaving_more};
use crate::ast::{EdgeRule, Item, Placed, Rule, Seq, Statement, StatementKind, Work};
use crate::blocks::blocks;
use crate::chain::{Candidate, ChainRow, Chosen, Ends, Path, solve};
use crate::effort;
use crate::glossary::{Glossary, senses_of, senses_within_book};
use crate::lattice::{Answers, Weaver};
use crate::lexer::{Token, lex};
use crate::linebreak::whole;
use crate::memory::{Memory, Parsed};
use crate::parser::{BadData, Parser};
use crate::place::Place;
use crate::plan::{Plan, PlannedRow, plan, works_inside};
use crate::program::{program, starts};
use crate::questions::{Decision, Trial, combinations, decision, questions};
use crate::rowset::rows_at;
use crate::stretch::Stretch;

/// A stretch that costs no more than this is read without passing words over.
const READ_WELL: f64 = 4.0;
/// Readings of a row that are dearer than the best by this many nats are not tried.
const MARGIN: f64 = 6.0;

/// Nats against counting edge stitches among the others where the text says that they stand besides.
const SAID_BESIDES: f64 = 20.0;
/// Nats against edge stitches that a rule tells standing besides those that the rows tell.
const BESIDES: f64 = 1.5;
/// Nats against a rule on edge stitches that the rows as read do not have.
const DENIED: f64 = 16.0;
/// What the caller fixes beforehand.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// The number cast on, where another part of the book tells it.
    pub cast_on: Option<u32>,
    /// Answers to book-wide questions that are not to be asked.
    pub answers: BTreeMap<String, String>,
    /// Whether edge stitches may be left unmentioned; found from the text as well.
    pub edge_hint: bool,
}

/// One piece as read.
#[derive(Clone, Debug)]
pub struct PieceReading {
    /// The rows as planned.
    pub plan: Plan,
    /// The rows as the chain search saw them.
    pub chain: Vec<ChainRow>,
    /// Where the search began.
    pub ends: Ends,
    /// The way it chose.
    pub path: Path,
    /// The program.
    pub piece: Piece,
    /// The program worked.
    pub worked: WorkedPiece,
}

/// A text as read.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The pieces in the order of the text.
    pub pieces: Vec<PieceReading>,
    /// The book-wide questions that came up.
    pub decisions: Vec<Decision>,
    /// Everything the text says, in order.
    pub statements: Vec<Statement>,
    /// Words among the rows that were not understood.
    pub unread: Vec<Span>,
    /// Nats against the whole.
    pub cost: f64,
}

/// What reading needs besides the text: grammar, idioms, senses.
pub struct Reader {
    parser: Arc<Parser>,
    lexicon: Lexicon,
    glossary: Glossary,
    /// What the book's explanation says once for all its patterns.
    rules: Vec<Rule>,
}

/// A reader that remembers the stretches it has parsed, for texts that are mostly the same: a text and its corrections.
pub struct Study<'r> {
    reader: &'r Reader,
    memory: RefCell<Memory>,
}

impl<'r> Study<'r> {
    /// The reader whose memory this is.
    pub fn reader(&self) -> &'r Reader {
        self.reader
    }

    /// Reads a text, exactly as [`Reader::read`] does.
    pub fn read(&self, text: &str, options: &Options) -> Reading {
        self.read_tokens(text, lex(text), options)
    }

    /// Reads a text that is cut into its tokens already.
    pub fn read_tokens(&self, text: &str, tokens: Vec<Token>, options: &Options) -> Reading {
        self.reader.read_minding(&mut self.memory.borrow_mut(), text, tokens, options)
    }
}

impl Reader {
    /// A reader with the built-in senses.
    ///
    /// # Errors
    /// [`BadData`] only if the data files compiled in are broken.
    pub fn new() -> Result<Reader, BadData> {
        Reader::with(Lexicon::builtin()?)
    }

    /// A reader with these senses.
    ///
    /// # Errors
    /// [`BadData`] only if the data files compiled in are broken.
    pub fn with(lexicon: Lexicon) -> Result<Reader, BadData> {
        Ok(Reader::of(Parser::builtin()?, lexicon))
    }

    /// A reader with these senses and this grammar, such as the built-in one with other costs.
    ///
    /// # Errors
    /// [`BadData`] that says what is wrong with the grammar.
    pub fn with_grammar(lexicon: Lexicon, grammar: &str) -> Result<Reader, BadData> {
        Ok(Reader::of(Arc::new(Parser::new(grammar)?), lexicon))
    }

    fn of(parser: Arc<Parser>, lexicon: Lexicon) -> Reader {
        Reader { parser, lexicon, glossary: Glossary::default(), rules: Vec::new() }
    }

    /// A reader for one text, with the senses of the book's own explanation of terms and of what the text itself
    /// explains; the explanation outranks the text.
    ///
    /// # Errors
    /// [`BadData`] only if the data files compiled in are broken.
    pub fn for_text(lexicon: &Lexicon, explained: &str, text: &str) -> Result<Reader, BadData> {
        let mut glossary = senses_of(explained, lexicon);
        let terms: Vec<Span> = glossary.definitions.iter().map(|term| term.explained).collect();
        glossary.join(senses_within_book(text, lexicon, &glossary.install(lexicon)));
        let mut reader = Reader::with(glossary.install(lexicon))?;
        reader.glossary = glossary;
        reader.rules = reader.rules_of(explained, &terms);
        Ok(reader)
    }

    /// Whether [`Reader::for_text`] would make the same reader for this text, which has the same explanation beside it.
    pub fn serves(&self, lexicon: &Lexicon, explained: &str, text: &str) -> bool {
        let mut glossary = senses_of(explained, lexicon);
        glossary.join(senses_within_book(text, lexicon, &glossary.install(lexicon)));
        self.glossary.says_the_same(&glossary)
    }

    /// What a book's explanation says of all its patterns: how the rows back are worked, and the edge stitches. What
    /// explains a term ("Sl., slip the first stitch of the row") is no rule.
    fn rules_of(&self, explained: &str, terms: &[Span]) -> Vec<Rule> {
        let tokens = self.tokens(explained);
        let told = blocks(&tokens).into_iter().flat_map(|block| {
            let mut statements = self.parse(&tokens[block.clone()], &Answers::default()).statements;
            // A sentence that explains a term is no rule.
            let explains =
                tokens[block].iter().any(|token| matches!(token.text.as_str(), "meant" | "called" | "means"));
            statements.retain(|_| !explains);
            statements
        });
        let of_a_term = |statement: &Statement| terms.iter().any(|term| term.covers(statement.span));
        told.filter(|statement| !of_a_term(statement)).filter_map(|statement| statement.as_rule()).collect()
    }

    /// What the book says of its own terms.
    pub fn glossary(&self) -> &Glossary {
        &self.glossary
    }

    /// The senses in force.
    pub fn lexicon(&self) -> &Lexicon {
        &self.lexicon
    }

    /// Whether a word in lower case is one of any phrase or idiom.
    pub fn knows(&self, word: &str) -> bool {
        self.lexicon.word(word).is_some() || self.parser.knows(word)
    }

    /// The tokens of a text, words that lines break made whole, terms of the book written as what they stand for.
    fn tokens(&self, text: &str) -> Vec<Token> {
        self.made_whole(text, lex(text))
    }

    fn made_whole(&self, text: &str, tokens: Vec<Token>) -> Vec<Token> {
        self.glossary.respell(whole(text, tokens, |word| self.knows(word)))
    }

    /// Reads a text.
    pub fn read(&self, text: &str, options: &Options) -> Reading {
        self.study().read(text, options)
    }

    /// This reader with a memory, for texts that are alike.
    pub fn study(&self) -> Study<'_> {
        Study { reader: self, memory: RefCell::default() }
    }

    /// The stretches of a text that are parsed by themselves, with every sense that their words may have.
    pub fn stretches(&self, text: &str) -> Vec<Stretch<'_>> {
        let tokens = self.tokens(text);
        let stretch = |block| self.parser.stretch(&self.lexicon, block);
        blocks(&tokens).into_iter().map(|block| stretch(&tokens[block])).collect()
    }

    fn read_minding(
        &self,
        memory: &mut Memory,
        text: &str,
        tokens: Vec<Token>,
        options: &Options,
    ) -> Reading {
        let mut tokens = self.made_whole(text, tokens);
        let explained = self.glossary.sentences(text);
        tokens.retain(|token| !explained.iter().any(|sentence| sentence.covers(token.span)));
        let mut options = options.clone();
        for (question, answer) in &self.glossary.answers {
            options.answers.entry(question.clone()).or_insert_with(|| answer.clone());
        }
        let options = &options;
        let options =
            &Options { edge_hint: options.edge_hint || speaks_of_edges(&tokens), ..options.clone() };
        let questions = questions(&self.lexicon, &tokens, options);
        let mut tried: Vec<(Answers, Reading)> = Vec::new();
        for (answers, prior) in combinations(&questions, options) {
            let mut reading = self.read_with(memory, text, &tokens, &answers, options);
            reading.cost += prior;
            tried.push((answers, reading));
        }
        let mut trials: Vec<Trial> =
            tried.into_iter().map(|(answers, reading)| Trial::of(answers, reading)).collect();
        let best =
            (0..trials.len()).min_by(|a, b| trials[*a].cost().total_cmp(&trials[*b].cost())).unwrap_or(0);
        let decisions =
            questions.iter().map(|(question, priors)| decision(question, priors, best, &trials)).collect();
        let mut reading = trials.swap_remove(best).reading;
        reading.decisions = decisions;
        reading
    }

    fn read_with(
        &self,
        memory: &mut Memory,
        text: &str,
        tokens: &[Token],
        answers: &Answers,
        options: &Options,
    ) -> Reading {
        effort::spend(effort::WORD * tokens.len());
        let mut cost = 0.0;
        let mut statements = Vec::new();
        let weaver = self.weaver(answers);
        for block in blocks(tokens) {
            let stretch = &tokens[block];
            let place = Place::of(stretch, |tokens| weaver.phrases(tokens));
            let parsed =
                memory.recall(place.lifted(stretch), answers, |stretch| self.parse(stretch, answers));
            cost += parsed.cost;
            statements.extend(parsed.statements.iter().map(|statement| statement.placed(&place)));
        }
        let mut pieces = Vec::new();
        for plan in plan(&statements, &self.rules, options.cast_on) {
            if let Some(mut piece) = self.piece(plan, options) {
                piece.piece.name = heading(&piece.plan.headings, text);
                cost += piece.path.cost;
                pieces.push(piece);
            }
        }
        let mut unread = unread(&statements, text);
        unread.retain(|span| heading(&[*span], text).is_none_or(|words| !is_name(&pieces, &words)));
        unread.extend(pieces.iter().flat_map(|piece| self.passed_over(piece, tokens, answers)));
        unread.sort_unstable();
        unread.dedup();
        Reading { pieces, decisions: Vec::new(), statements, unread, cost }
    }

    /// Words inside the rows of a piece that the chosen readings pass over.
    fn passed_over(&self, piece: &PieceReading, tokens: &[Token], answers: &Answers) -> Vec<Span> {
        let weaver = self.weaver(answers);
        let mut out = Vec::new();
        let rows = piece.plan.rows.iter().zip(&piece.chain).zip(&piece.path.rows);
        for ((row, chain), chosen) in rows.filter(|((row, _), _)| !row.span.is_detached() && !row.goes_on) {
            let read = &chain.candidates[chosen.candidate];
            let from = tokens.partition_point(|token| token.span.end <= row.span.start);
            let to = tokens.partition_point(|token| token.span.start < row.span.end);
            // A row read as "like the third" stands on the words of the third.
            if read.seq.passes_over() && row.span.covers(read.seq.span()) {
                let items = read.seq.spans();
                let mut left = weaver.unaccounted(&tokens[from..to]);
                let stated = row.stated.map(|(_, span)| span);
                let number = |token: &&Token| {
                    token.number.is_some()
                        && token.span.start > read.seq.span().start
                        && !stated.is_some_and(|stated| stated.covers(token.span))
                };
                left.extend(tokens[from..to].iter().filter(number).map(|token| token.span));
                out.extend(left.into_iter().filter(|word| !items.iter().any(|item| item.covers(*word))));
            }
        }
        out
    }

    /// The cheapest statements of a stretch; words inside a row are passed over only where it is not read without.
    fn parse(&self, tokens: &[Token], answers: &Answers) -> Parsed {
        let parsed = self.parser.statements(&self.lexicon, tokens, answers, false, false);
        if parsed.cost <= READ_WELL {
            return parsed;
        }
        let mut rows = Vec::new();
        rows_at(tokens, 0, &mut rows);
        let odd = self.parser.statements(&self.lexicon, tokens, answers, !rows.is_empty(), true);
        if odd.cost < parsed.cost { odd } else { parsed }
    }

    fn weaver<'a>(&'a self, answers: &'a Answers) -> Weaver<'a> {
        self.parser.weaver(&self.lexicon, answers, false, false)
    }

    fn piece(&self, mut plan: Plan, options: &Options) -> Option<PieceReading> {
        let prepares = begins_pairs(&plan);
        if prepares {
            let again = PlannedRow { label: "2".to_owned(), number: Some(2), ..plan.rows[0].clone() };
            plan.rows.push(again);
            plan.back_to = Some(1);
        }
        let mut chain: Vec<ChainRow> = plan.rows.iter().map(|row| self.chain_row(row)).collect();
        if prepares {
            chain[0].candidates.retain(|candidate| !works_pairs(&candidate.seq));
            chain[1].candidates.retain(|candidate| works_pairs(&candidate.seq));
        }
        without_pairs(&mut chain);
        let said = plan.back_to.is_some();
        let back_to = plan.back_to.or(plan.cast_on.of.map(|_| 0));
        let of = plan.cast_on.of;
        let ends = Ends { starts: starts(&plan, options), back_to, said, of, paths: 1 };
        let mut path = solve(&chain, &ends).into_iter().next()?;
        let rule = plan.edge_rule.filter(|rule| rule.besides || rule.last.is_some());
        if rule.is_none()
            && let Some(framed) = framed(&plan, &chain, &ends, &path, options.edge_hint)
        {
            (path, chain) = (framed.path, framed.chain);
            plan.edges = framed.edges;
            plan.edges_said = framed.said;
        }
        if let Some(rule) = rule {
            let told = between_told(&plan, &chain);
            let rows = told.as_ref().unwrap_or(&chain);
            let within: Vec<ChainRow> = rows.iter().map(|row| between_edges(row, rule)).collect();
            let denied = path.rows.iter().zip(&chain).filter(|(row, told)| denies(row, told)).count();
            let here = match rule.besides {
                true => SAID_BESIDES,
                false if 2 * denied > chain.len() => DENIED,
                false => 0.0,
            };
            if let Some(other) = solve(&within, &ends).into_iter().next()
                && other.cost + BESIDES < path.cost + here
            {
                (path, chain) = (other, within);
                plan.edge_besides = true;
            }
        }
        let piece = program(&plan, &chain, &ends, &path);
        let worked = work(&piece);
        Some(PieceReading { plan, chain, ends, path, piece, worked })
    }

    fn chain_row(&self, row: &PlannedRow) -> ChainRow {
        let mut candidates: Vec<Candidate> = row
            .readings
            .iter()
            .map(|(cost, seq)| Candidate { cost: *cost, seq: seq.clone(), edit: None })
            .collect();
        let beside: Vec<Candidate> = candidates.iter().filter_map(uncounted_loop).collect();
        candidates.extend(beside);
        candidates.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        let least = candidates.first().map_or(0.0, |candidate| candidate.cost);
        candidates.retain(|candidate| candidate.cost <= least + MARGIN);
        ChainRow { candidates, stated: row.stated.map(|(count, _)| count) }
    }
}

/// "Cast off 2, knit 5": the loop that casting off leaves on the needle may be the first of the five, or not be
/// counted at all.
fn uncounted_loop(candidate: &Candidate) -> Option<Candidate> {
    const UNCOUNTED: f64 = 0.45;
    let items = candidate.seq.items();
    let casts_off = |item: &Item| match item {
        Item::Work(work) => *work.ops == [Op::Bo],
        Item::Rest { op, .. } => *op == Op::Bo,
        _ => false,
    };
    let at = items.iter().position(casts_off)?;
    let follows = matches!(items.get(at + 1), Some(Item::Work(_) | Item::Group { .. } | Item::Rest { .. }));
    let purled = matches!(items.get(at + 1), Some(Item::Work(work)) if work.ops.first() == Some(&Op::P));
    let op = if purled { Op::P } else { Op::K };
    let left =
        Item::Work(Work { ops: Rc::from([op]), times: 1, span: items[at].span(), number: None, sense: None });
    let seq = Seq::of(items[..=at].iter().cloned().chain([left]).chain(items[at + 1..].iter().cloned()))?;
    follows.then_some(Candidate { cost: candidate.cost + UNCOUNTED, seq, edit: None })
}

/// Whether an operation slips a stitch with an over, or works the two together.
fn is_of_pairs(op: Op) -> bool {
    matches!(op, Op::SlYo | Op::Brk | Op::Brp)
}

/// Whether all rows are told as one that slips stitches with their overs and knits these together: on the cast-on the
/// first row has no pairs yet, and knits two stitches together where the others take a pair.
fn begins_pairs(plan: &Plan) -> bool {
    let [row] = plan.rows.as_slice() else { return false };
    let some = |pairs: bool| row.readings.iter().any(|(_, seq)| works_pairs(seq) == pairs);
    plan.back_to == Some(0) && some(true) && some(false)
}

/// Whether stitches are worked together with their overs.
fn works_pairs(seq: &Seq) -> bool {
    works_inside(seq, Op::Brk) || works_inside(seq, Op::Brp)
}

/// Where the row before slips no stitch with an over, or on the cast-on, two together are two stitches: no pairs are there
/// to be worked.
fn without_pairs(chain: &mut [ChainRow]) {
    let pairs = |row: &ChainRow| {
        row.candidates.iter().any(|one| works_inside(&one.seq, Op::SlYo) || works_pairs(&one.seq))
    };
    for at in 0..chain.len() {
        let other = chain[at].candidates.iter().any(|one| !works_pairs(&one.seq));
        let none = at.checked_sub(1).is_none_or(|before| !pairs(&chain[before]));
        if other && none {
            chain[at].candidates.retain(|one| !works_pairs(&one.seq));
        }
    }
}

/// Whether a row as read has no plain edge: a rule on the first and last stitch then speaks of others.
fn denies(chosen: &Chosen, row: &ChainRow) -> bool {
    let seq = &row.candidates[chosen.candidate].seq;
    let plain = |item: &Item| match item {
        Item::Work(work) => work.ops.iter().all(|op| op.takes() == 1 && op.makes() == 1 && !is_of_pairs(*op)),
        Item::Rest { .. } | Item::Seen(..) => true,
        _ => false,
    };
    !plain(seq.first_item()) && !plain(seq.last_item())
}

/// A row whose readings stand between the edge stitches that a rule tells once.
fn between_edges(row: &ChainRow, rule: EdgeRule) -> ChainRow {
    let edge = |op| {
        let ops = Rc::from([op]);
        Seq::one(Item::Work(Work { ops, times: 1, span: Span::DETACHED, number: None, sense: None }))
    };
    let framed = |seq: &Seq| {
        let begun = rule.first.map_or(seq.clone(), |first| edge(first).and(seq));
        rule.last.map_or(begun.clone(), |last| begun.and(&edge(last)))
    };
    let within = row.candidates.iter().flat_map(|candidate| {
        if casts_off(&candidate.seq) {
            return vec![candidate.clone()];
        }
        // "Until one is left" may not count the edge stitch.
        let beside = rule.last.and_then(|_| leaving_more(&candidate.seq, 1));
        let both = [Some(candidate.seq.clone()), beside].into_iter().flatten();
        both.map(|seq| Candidate { seq: framed(&seq), ..candidate.clone() }).collect()
    });
    ChainRow { candidates: within.collect(), stated: row.stated }
}

/// Whether a row casts all of it off: no edge stitch is left out of that.
fn casts_off(seq: &Seq) -> bool {
    matches!(seq.items().as_slice(), [Item::Rest { op: Op::Bo, .. }])
}

/// Whether the text speaks of stitches at the edges, which its rows may then leave unmentioned.
fn speaks_of_edges(tokens: &[Token]) -> bool {
    const NEAR: usize = 24;
    let is = |words: &[&str], token: &Token| words.contains(&token.text.as_str());
    let unsaid = |token: &Token| {
        is(
            &[
                "mentioned",
                "counting",
                "counted",
                "besides",
                "reckoned",
                "throughout",
                "named",
                "besides",
                "told",
            ],
            token,
        )
    };
    let edge = |token: &Token| is(&["edge", "edges", "border", "selvedge", "selvage", "beginning"], token);
    let near = tokens.windows(NEAR).any(|stretch| {
        edge(&stretch[0]) && stretch.iter().any(unsaid) || unsaid(&stretch[0]) && stretch.iter().any(edge)
    });
    near || tokens
        .windows(3)
        .any(|three| three.iter().map(|token| token.text.as_str()).eq(["1st", "and", "last"]))
}

/// Whether a piece goes by this name.
fn is_name(pieces: &[PieceReading], words: &str) -> bool {
    pieces.iter().any(|piece| piece.piece.name.as_deref() == Some(words))
}

/// The last of the short stretches before a piece that stands alone between empty lines, marks of print taken off.
fn heading(stretches: &[Span], text: &str) -> Option<String> {
    let alone = |span: &&Span| {
        let after =
            text[span.range().end..].trim_start_matches(|letter: char| ".:_-—* \t\r".contains(letter));
        let before = text[..span.range().start].trim_end_matches(|letter: char| "_* \t\r".contains(letter));
        after.starts_with("\n\n") && (before.is_empty() || before.ends_with("\n\n"))
    };
    let words = stretches.iter().rev().find(alone)?.of(text);
    let clean: String = words.chars().filter(|letter| !matches!(letter, '_' | '*' | '[' | ']')).collect();
    let clean = clean.trim_matches(|letter: char| !letter.is_alphanumeric());
    let clean = clean.split_whitespace().collect::<Vec<_>>().join(" ");
    clean.contains(char::is_alphabetic).then_some(clean)
}

/// Words among the rows that were not understood: between the first statement of the work and the end of the sentence
/// of the last, or of the last number of stitches that is stated.
fn unread(statements: &[Statement], text: &str) -> Vec<Span> {
    let works = |statement: &Statement| {
        matches!(
            statement.kind,
            StatementKind::CastOn(_) | StatementKind::Rows { .. } | StatementKind::Again(_)
        )
    };
    let Some(first) = statements.iter().position(works) else { return Vec::new() };
    let counts = |statement: &Statement| matches!(statement.kind, StatementKind::Count(_));
    let last =
        statements.iter().rposition(|statement| works(statement) || counts(statement)).unwrap_or(first);
    let goes_on = |pair: &[Statement]| {
        let between = text.get(pair[0].span.range().end..pair[1].span.range().start).unwrap_or("");
        between.chars().all(|letter| matches!(letter, ' ' | ',' | '_')) && !works(&pair[1])
    };
    let tail = statements[last..].windows(2).take_while(|pair| goes_on(pair)).count();
    statements[first..=last + tail]
        .iter()
        .filter(|statement| statement.kind == StatementKind::Unread)
        .map(|statement| statement.span)
        .filter(|span| span.of(text).chars().any(char::is_alphanumeric))
        .collect()
}
