//! The reader: text in, programs out, with the choices that were made on the way.
//!
//! ```text
//! text ─ lexer ─▶ tokens ─ lattice ─▶ edges ─ forest ─▶ statements ─ plan ─▶ rows ─ chain ─▶ pieces
//! ```
//!
//! Questions that hold for a whole book (is P plain or purl?) are asked outside: the text is read once under each
//! answer, and the cheapest reading wins.

use std::collections::BTreeMap;
use std::rc::Rc;

use loops::{Multiple, Op, Piece, Row, Side, Step, Stitch, Worked, WorkedPiece, side_of, work};
use notation::{Lexicon, Printed};
use span::Span;

use crate::ast::{Item, Seq, Statement, StatementKind, Work};
use crate::build::{Builder, Marks, Value};
use crate::chain::{Candidate, ChainRow, Chosen, Ends, Path, solve};
use crate::forest::Forest;
use crate::grammar::{Grammar, Name};
use crate::lattice::{Answers, Idioms, Terminals, Weaver};
use crate::lexer::{Gap, Token, lex};
use crate::plan::{Plan, PlannedRow, plan};
use crate::rowset::rows_at;
use crate::rowwork::{Below, context_cost, expand, needle_after};

/// The longest stretch parsed at once, in tokens; longer ones are cut at the end of a sentence.
const BLOCK: usize = 240;
/// A stretch that costs no more than this is read without passing words over.
const READ_WELL: f64 = 4.0;
/// The most combinations of answers that are tried.
const COMBINATIONS: usize = 12;
/// An answer dearer than another by so many nats beforehand is not tried: both give the same counts.
const SETTLED: f64 = 2.5;
/// Readings of a row that are dearer than the best by this many nats are not tried.
const MARGIN: f64 = 6.0;

/// The most stitches at each edge that a text may leave unmentioned.
const EDGES: u32 = 4;
/// Nats against edge stitches that no row mentions.
const HIDDEN_EDGE: f64 = 5.0;
/// The same where the text speaks of an edge.
const HINTED_EDGE: f64 = 1.0;

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

/// A book-wide question with the answer in force.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// The question, such as the letter whose sense is open.
    pub question: String,
    /// The answers with the cost of the whole reading under each, the chosen one first.
    pub answers: Vec<(String, f64)>,
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
    grammar: Grammar,
    idioms: Idioms,
    terminals: Terminals,
    marks: Marks,
    start: Name,
    lexicon: Lexicon,
}

/// Data files compiled in that do not fit each other; a test keeps them whole.
#[derive(Debug, thiserror::Error)]
pub enum BadData {
    /// The grammar.
    #[error(transparent)]
    Grammar(#[from] crate::grammar::BadGrammar),
    /// The idioms.
    #[error(transparent)]
    Idioms(#[from] crate::lattice::BadIdioms),
    /// The senses.
    #[error(transparent)]
    Senses(#[from] notation::BadSenses),
    /// The grammar has no rule to start with.
    #[error("the grammar has no rule \"block\"")]
    NoStart,
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
        let mut grammar = Grammar::parse(include_str!("../data/grammar.txt"))?;
        let idioms = Idioms::parse(include_str!("../data/idioms.toml"), &mut grammar)?;
        let terminals = Terminals::of(&mut grammar);
        let marks = Marks {
            div: grammar.terminal("DIV"),
            plus: grammar.terminal("PLUS"),
            plus_each: grammar.terminal("PLUSEACH"),
            even: grammar.terminal("EVEN"),
            uneven: grammar.terminal("UNEVEN"),
            per_pattern: grammar.terminal("PERPATTERN"),
            per_needle: grammar.terminal("PERNEEDLE"),
            each_needle: grammar.terminal("EACHNEEDLE"),
            round: grammar.terminal("ROUND"),
            more: grammar.terminal("MORETIMES"),
        };
        let start = grammar.find_name("block").ok_or(BadData::NoStart)?;
        Ok(Reader { grammar, idioms, terminals, marks, start, lexicon })
    }

    /// The senses in force.
    pub fn lexicon(&self) -> &Lexicon {
        &self.lexicon
    }

    /// Reads a text.
    pub fn read(&self, text: &str, options: &Options) -> Reading {
        let tokens = lex(text);
        let options = &Options { edge_hint: options.edge_hint || speaks_of_edges(&tokens), ..options.clone() };
        let questions = self.questions(&tokens, options);
        let mut tried: Vec<(Answers, Reading)> = Vec::new();
        for (answers, prior) in combinations(&questions, options) {
            let mut reading = self.read_with(text, &tokens, &answers, options);
            reading.cost += prior;
            tried.push((answers, reading));
        }
        let best = (0..tried.len()).min_by(|a, b| tried[*a].1.cost.total_cmp(&tried[*b].1.cost)).unwrap_or(0);
        let decisions = questions.keys().map(|question| decision(question, best, &tried)).collect();
        let mut reading = tried.swap_remove(best).1;
        reading.decisions = decisions;
        reading
    }

    /// The book-wide questions that the words of a text raise: answers with their prior cost.
    fn questions(&self, tokens: &[Token], options: &Options) -> BTreeMap<String, BTreeMap<String, f64>> {
        let printed = |token: &Token| Printed { word: self.lexicon.word(&token.text), number: token.number, joins: token.gap < Gap::Colon };
        let words: Vec<Printed> = tokens.iter().map(printed).collect();
        let mut questions: BTreeMap<String, BTreeMap<String, f64>> = BTreeMap::new();
        let mut found = Vec::new();
        for at in 0..words.len() {
            self.lexicon.matches(&words, at, &mut found);
            for (one, id) in &found {
                let sense = self.lexicon.sense(*id);
                let Some((question, answer)) = &sense.choice else { continue };
                let brioche = question == "brioche" && !matches!(&sense.meaning, notation::Meaning::Stitches(ops) if ops.contains(&Op::SlYo));
                let passed_over = question == "brioche" && is_passed_over(&tokens[at + one.len..]);
                if options.answers.contains_key(question) || brioche || passed_over {
                    continue;
                }
                let answers = questions.entry(question.clone()).or_default();
                let cost = sense.cost + vocabulary_cost(question, answer, tokens);
                let prior = answers.entry(answer.clone()).or_insert(cost);
                *prior = prior.max(cost);
                if question == "brioche" {
                    let named = tokens.iter().any(|token| matches!(token.text.as_str(), "brioche" | "patent"));
                    answers.insert(answer.clone(), if named { 0.3 } else { 1.5 });
                    answers.insert("no".to_owned(), 0.0);
                }
            }
        }
        questions
    }

    fn read_with(&self, text: &str, tokens: &[Token], answers: &Answers, options: &Options) -> Reading {
        let mut cost = 0.0;
        let mut statements = Vec::new();
        for block in blocks(tokens) {
            let (block_cost, mut said) = self.parse(&tokens[block], answers);
            cost += block_cost;
            statements.append(&mut said);
        }
        let mut pieces = Vec::new();
        for plan in plan(&statements) {
            if let Some(mut piece) = self.piece(plan, options) {
                piece.piece.name = piece.plan.heading.and_then(|span| heading(span.of(text)));
                cost += piece.path.cost;
                pieces.push(piece);
            }
        }
        let mut unread = unread(&statements, text);
        unread.extend(pieces.iter().flat_map(|piece| self.passed_over(piece, tokens, answers)));
        unread.sort_unstable();
        unread.dedup();
        Reading { pieces, decisions: Vec::new(), statements, unread, cost }
    }

    /// Words inside the rows of a piece that the chosen readings pass over.
    fn passed_over(&self, piece: &PieceReading, tokens: &[Token], answers: &Answers) -> Vec<Span> {
        let weaver = Weaver { lexicon: &self.lexicon, idioms: &self.idioms, terminals: self.terminals, answers, odd: false, clauses: false };
        let mut out = Vec::new();
        let rows = piece.plan.rows.iter().zip(&piece.chain).zip(&piece.path.rows);
        for ((row, chain), chosen) in rows.filter(|((row, _), _)| !row.span.is_detached() && !row.goes_on) {
            let read = &chain.candidates[chosen.candidate];
            let from = tokens.partition_point(|token| token.span.end <= row.span.start);
            let to = tokens.partition_point(|token| token.span.start < row.span.end);
            // A row read as "like the third" stands on the words of the third.
            if read.seq.passes_over() && row.span.covers(read.seq.span()) {
                let items = read.seq.spans();
                let left = weaver.unaccounted(&tokens[from..to]);
                out.extend(left.into_iter().filter(|word| !items.iter().any(|item| item.covers(*word))));
            }
        }
        out
    }

    /// The cheapest statements of a stretch; words inside a row are passed over only where it is not read without.
    fn parse(&self, tokens: &[Token], answers: &Answers) -> (f64, Vec<Statement>) {
        let (cost, said) = self.parse_with(tokens, answers, false, false);
        if cost <= READ_WELL {
            return (cost, said);
        }
        let mut rows = Vec::new();
        rows_at(tokens, 0, &mut rows);
        let (odd_cost, odd_said) = self.parse_with(tokens, answers, !rows.is_empty(), true);
        if odd_cost < cost { (odd_cost, odd_said) } else { (cost, said) }
    }

    fn parse_with(&self, tokens: &[Token], answers: &Answers, odd: bool, clauses: bool) -> (f64, Vec<Statement>) {
        let (lexicon, idioms, terminals) = (&self.lexicon, &self.idioms, self.terminals);
        let weaver = Weaver { lexicon, idioms, terminals, answers, odd, clauses };
        let lattice = weaver.weave(tokens);
        let forest = Forest::parse(&self.grammar, &lattice.edges, &lattice.breaks, self.start);
        let mut builder = Builder { lexicon: &self.lexicon, leaves: &lattice.leaves, marks: self.marks };
        let best = forest.best(self.start, &mut builder);
        let Some((cost, value)) = best.into_iter().next() else { return (0.0, Vec::new()) };
        let mut said = Vec::new();
        unchain(&value, &mut said);
        (cost, said)
    }

    fn piece(&self, mut plan: Plan, options: &Options) -> Option<PieceReading> {
        let chain: Vec<ChainRow> = plan.rows.iter().map(|row| self.chain_row(row)).collect();
        let said = plan.back_to.is_some();
        let back_to = plan.back_to.or(plan.cast_on.of.map(|_| 0));
        let ends = Ends { starts: starts(&plan, options), back_to, said, paths: 1 };
        let mut path = solve(&chain, &ends).into_iter().next()?;
        let mut chain = chain;
        let odd = path.rows.iter().any(|row| row.fault || row.fit.cut.is_some());
        // "Four for the edges" tells how many there are.
        let told = Some(plan.cast_on.plus / 2).filter(|edges| (1..=EDGES).contains(edges) && plan.cast_on.plus.is_multiple_of(2));
        if options.edge_hint || odd || told.is_some() {
            let hidden = if options.edge_hint || told.is_some() { HINTED_EDGE } else { HIDDEN_EDGE };
            for edges in told.map_or(1..=EDGES, |edges| edges..=edges) {
                let framed: Vec<ChainRow> = chain.iter().map(|row| framed(row, edges, options.edge_hint)).collect();
                let Some(other) = solve(&framed, &ends).into_iter().next() else { continue };
                if other.cost + hidden < path.cost {
                    path = Path { cost: other.cost + hidden, ..other };
                    chain = framed;
                    plan.edges = edges;
                    break;
                }
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
            .map(|(cost, seq)| Candidate { cost: cost + context_cost(seq, &self.lexicon), seq: seq.clone(), edit: None })
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
    const UNCOUNTED: f64 = 0.8;
    let items = candidate.seq.items();
    let casts_off = |item: &Item| matches!(item, Item::Work(work) if *work.ops == [Op::Bo]);
    let at = items.iter().position(casts_off)?;
    let follows = matches!(items.get(at + 1), Some(Item::Work(_) | Item::Group { .. } | Item::Rest { .. }));
    let purled = matches!(items.get(at + 1), Some(Item::Work(work)) if work.ops.first() == Some(&Op::P));
    let op = if purled { Op::P } else { Op::K };
    let left = Item::Work(Work { ops: Rc::from([op]), times: 1, span: items[at].span(), number: None, sense: None });
    let seq = Seq::of(items[..=at].iter().cloned().chain([left]).chain(items[at + 1..].iter().cloned()))?;
    follows.then_some(Candidate { cost: candidate.cost + UNCOUNTED, seq, edit: None })
}

/// A row whose readings may also stand between edge stitches that it does not mention.
fn framed(row: &ChainRow, edges: u32, hinted: bool) -> ChainRow {
    let bare = if hinted { 0.6 } else { 0.0 };
    let edge = Item::Work(Work { ops: Rc::from([Op::K]), times: edges, span: Span::DETACHED, number: None, sense: None });
    let edge = Seq::one(edge);
    let within = row.candidates.iter().map(|candidate| Candidate {
        cost: candidate.cost + 0.1,
        seq: edge.and(&candidate.seq).and(&edge),
        edit: candidate.edit,
    });
    let without = row.candidates.iter().map(|candidate| Candidate { cost: candidate.cost + bare, ..candidate.clone() });
    ChainRow { candidates: without.chain(within).collect(), stated: row.stated }
}

/// Whether the stitch slipped just before these tokens is passed over one of the next.
fn is_passed_over(tokens: &[Token]) -> bool {
    const OVER: [&str; 9] = ["pass", "pull", "draw", "psso", "bind", "slipped", "lift", "b", "passed"];
    tokens.iter().take(9).any(|token| OVER.contains(&token.text.as_str()))
}

/// Whether the text speaks of stitches at the edges, which its rows may then leave unmentioned.
fn speaks_of_edges(tokens: &[Token]) -> bool {
    const NEAR: usize = 24;
    let is = |words: &[&str], token: &Token| words.contains(&token.text.as_str());
    let unsaid = |token: &Token| is(&["mentioned", "counting", "counted", "besides", "reckoned", "throughout"], token);
    let edge = |token: &Token| is(&["edge", "edges", "border", "selvedge", "selvage"], token);
    let near = tokens.windows(NEAR).any(|stretch| edge(&stretch[0]) && stretch.iter().any(unsaid) || unsaid(&stretch[0]) && stretch.iter().any(edge));
    near || tokens.windows(3).any(|three| three.iter().map(|token| token.text.as_str()).eq(["1st", "and", "last"]))
}

/// Nats for or against an answer by the other words that the text uses: a book that writes K needs no P for plain,
/// one that writes purl or seam needs no P for purl. Guesses.
fn vocabulary_cost(question: &str, answer: &str, tokens: &[Token]) -> f64 {
    let uses = |words: &[&str]| tokens.iter().any(|token| words.contains(&token.text.as_str()));
    match (question, answer) {
        ("P", "plain") if uses(&["k"]) => 2.5,
        ("P", "plain") if uses(&["purl", "pearl", "seam", "purled", "pearled", "s", "b"]) => -1.5,
        ("P", "purl") if !uses(&["k", "knit", "plain", "kn"]) => 1.0,
        ("S", "slip") if uses(&["sl", "slip"]) => 1.0,
        ("S", "seam") if uses(&["purl", "pearl"]) => 1.0,
        _ => 0.0,
    }
}

/// Every combination of answers with its prior cost.
fn combinations(questions: &BTreeMap<String, BTreeMap<String, f64>>, options: &Options) -> Vec<(Answers, f64)> {
    let fixed: Answers = options.answers.iter().map(|(question, answer)| (question.clone(), answer.clone())).collect();
    // A sense whose question was not raised is only one part of a way of knitting that the text does not show.
    let mut all = vec![(fixed, 0.0)];
    if !questions.contains_key("brioche") {
        for (answers, _) in &mut all {
            answers.entry("brioche".to_owned()).or_insert_with(|| "no".to_owned());
        }
    }
    for (question, answers) in questions {
        let least = answers.values().copied().fold(f64::INFINITY, f64::min);
        let open = |prior: f64| matches!(question.as_str(), "brioche" | "wound") || prior < least + SETTLED;
        if all.len() * answers.len() > COMBINATIONS {
            continue;
        }
        all = all
            .iter()
            .flat_map(|(given, cost)| {
                answers.iter().filter(move |(_, prior)| open(**prior)).map(move |(answer, prior)| {
                    let mut given = given.clone();
                    given.insert(question.clone(), answer.clone());
                    (given, cost + prior)
                })
            })
            .collect();
    }
    all
}

fn decision(question: &str, best: usize, tried: &[(Answers, Reading)]) -> Decision {
    let mut answers: Vec<(String, f64)> = Vec::new();
    for (given, reading) in tried {
        let Some(answer) = given.get(question) else { continue };
        match answers.iter_mut().find(|(other, _)| other == answer) {
            Some((_, cost)) => *cost = cost.min(reading.cost),
            None => answers.push((answer.clone(), reading.cost)),
        }
    }
    let chosen = tried.get(best).and_then(|(given, _)| given.get(question)).cloned();
    answers.sort_by(|a, b| (Some(&b.0) == chosen.as_ref()).cmp(&(Some(&a.0) == chosen.as_ref())).then(a.1.total_cmp(&b.1)));
    Decision { question: question.to_owned(), answers }
}

/// The words of a heading, marks of print taken off.
fn heading(words: &str) -> Option<String> {
    let clean: String = words.chars().filter(|letter| !matches!(letter, '_' | '*' | '[' | ']')).collect();
    let clean = clean.trim_matches(|letter: char| !letter.is_alphanumeric()).split_whitespace().collect::<Vec<_>>().join(" ");
    clean.contains(char::is_alphabetic).then_some(clean)
}

/// Stretches of tokens that are parsed by themselves: paragraphs, and within them each labelled row.
fn blocks(tokens: &[Token]) -> Vec<std::ops::Range<usize>> {
    let mut cuts = vec![0];
    let mut rows = Vec::new();
    for at in 1..tokens.len() {
        let token = &tokens[at];
        let hanging = matches!(tokens[at - 1].text.as_str(), "the" | "from" | "and" | "to" | "of" | "a" | "in" | "with" | "or" | "for");
        let paragraph = token.gap == Gap::Paragraph && !hanging;
        rows.clear();
        if token.gap >= Gap::Period || token.line_start && token.gap >= Gap::Point {
            rows_at(tokens, at, &mut rows);
        }
        let last = cuts.last().copied().unwrap_or(0);
        let label = !rows.is_empty() && !hanging;
        let long = at - last >= BLOCK / 2 && token.gap >= Gap::Period || at - last >= BLOCK;
        if paragraph || label || long {
            cuts.push(at);
        }
    }
    cuts.push(tokens.len());
    cuts.dedup();
    cuts.windows(2).map(|pair| pair[0]..pair[1]).collect()
}

fn unchain(value: &Value, out: &mut Vec<Statement>) {
    match value {
        Value::Statement(statement) => out.push(Statement::clone(statement)),
        Value::Chain(head, last) => {
            if let Some(head) = head {
                unchain(head, out);
            }
            out.push(Statement::clone(Rc::as_ref(last)));
        }
        Value::Junk(span) => out.push(Statement { kind: StatementKind::Unread, span: *span }),
        _ => {}
    }
}

/// The numbers that may have been cast on, with their cost.
fn starts(plan: &Plan, options: &Options) -> Vec<(u32, f64)> {
    let cast_on = &plan.cast_on;
    let own = cast_on.count.filter(|_| !plan.rows.is_empty());
    if let Some(count) = options.cast_on {
        return vec![(count, 0.0)];
    }
    let needles: u32 = cast_on.needles.iter().sum();
    if let (Some(count), Some(each)) = (own, cast_on.per_needle) {
        return vec![(count.saturating_mul(each), 0.0), (count, 3.0)];
    }
    if let Some(count) = own {
        return vec![(count, 0.0)];
    }
    if needles > 0 && cast_on.of.is_none() {
        return vec![(needles, 0.0)];
    }
    let (of, plus) = (cast_on.of.unwrap_or(1).max(1) * cast_on.per_needle.unwrap_or(1).max(1), cast_on.plus);
    let said = cast_on.of.is_some();
    (1..=120)
        .map(|repeats: u32| of.saturating_mul(repeats).saturating_add(plus))
        .filter(|count| *count <= 400)
        .map(|count| (count, small_cost(count) + if said { 0.0 } else { 0.5 }))
        .collect()
}

/// Where the text leaves the number open, one is taken that shows the pattern and is quickly knitted.
fn small_cost(count: u32) -> f64 {
    const WISHED: u32 = 12;
    if count < WISHED { 0.3 + 0.02 * f64::from(WISHED - count) } else { 0.003 * f64::from(count - WISHED) }
}

/// The program of a path.
fn program(plan: &Plan, chain: &[ChainRow], ends: &Ends, path: &Path) -> Piece {
    let worked = if plan.round { Worked::Round } else { Worked::Flat };
    let first_side = first_side(plan, worked);
    let mut needle = vec![Below::CAST_ON; path.start.min(100_000) as usize];
    let mut rows = Vec::with_capacity(plan.rows.len());
    for (index, (row, chosen)) in plan.rows.iter().zip(&path.rows).enumerate() {
        let mut ops = expand(&chain[index].candidates[chosen.candidate].seq, &chosen.fit, &needle);
        turn_short(&mut ops, chosen, row.span);
        if plan.slip_edge && let Some(first) = ops.first_mut().filter(|first| matches!(first.op, Op::K | Op::P)) {
            first.op = Op::Slp;
        }
        needle = needle_after(&ops, &needle, worked == Worked::Flat);
        let steps = ops.iter().map(|stitch| Step::Work(stitch.op, stitch.span)).collect();
        rows.push(Row { label: row.label.clone(), side: side_of(worked, first_side, index), steps, span: row.span });
    }
    let needles = match (plan.cast_on.per_needle, plan.cast_on.needles.as_slice()) {
        (Some(count), _) if count > 0 && path.start.is_multiple_of(count) => vec![path.start / count; count as usize],
        (_, needles) => needles.to_vec(),
    };
    let multiple = multiple(plan, chain, ends, path);
    Piece { name: None, worked, first_side, cast_on: path.start, multiple, needles, rows }
}

/// A row back over the stitches that a short row reached ends where those end: the work is turned again.
fn turn_short(ops: &mut Vec<Stitch>, chosen: &Chosen, span: Span) {
    let takes: u32 = ops.iter().map(|stitch| stitch.op.takes()).sum();
    if !chosen.fault && takes < chosen.before && ops.last().is_some_and(|last| last.op != Op::Turn) {
        ops.push(Stitch { op: Op::Turn, span });
    }
}

/// The side of the first row: the one that is said, or the wrong one where the first row alone is purled, or the
/// purled rows are those that go with it.
fn first_side(plan: &Plan, worked: Worked) -> Side {
    if worked == Worked::Round {
        return Side::Right;
    }
    let said = plan.rows.iter().enumerate().find_map(|(index, row)| Some((index, row.side?)));
    if let Some((index, side)) = said {
        return if index.is_multiple_of(2) { side } else { side.turned() };
    }
    let purled = |row: &PlannedRow| {
        let items = row.readings.first().map(|(_, seq)| seq.items()).unwrap_or_default();
        let purl = items.iter().any(|item| matches!(item, Item::Rest { op: Op::P, .. }));
        let knit = items.iter().any(|item| matches!(item, Item::Rest { op: Op::K, .. }));
        i32::from(purl) - i32::from(knit)
    };
    let lean: i32 = plan.rows.iter().enumerate().map(|(index, row)| if index.is_multiple_of(2) { purled(row) } else { -purled(row) }).sum();
    if lean > 0 { Side::Wrong } else { Side::Right }
}

/// The numbers that the cast-on may also be: as said, or found by trying.
fn multiple(plan: &Plan, chain: &[ChainRow], ends: &Ends, path: &Path) -> Option<Multiple> {
    let cast_on = &plan.cast_on;
    if let Some(of) = cast_on.of {
        return Some(Multiple { of, plus: cast_on.plus });
    }
    if ends.starts.len() < 3 {
        return None;
    }
    let works = |start: u32| {
        let ends = Ends { starts: vec![(start, 0.0)], ..ends.clone() };
        solve(chain, &ends).first().is_some_and(|path| path.rows.iter().all(|row| !row.fault && row.fit.cut.is_none()) && path.closed)
    };
    let of = (1..=60).find(|of| works(path.start + of) && works(path.start + 2 * of))?;
    Some(Multiple { of, plus: path.start % of })
}

/// Words among the rows that were not understood: between the first statement of the work and the last.
fn unread(statements: &[Statement], text: &str) -> Vec<Span> {
    let works = |statement: &Statement| matches!(statement.kind, StatementKind::CastOn(_) | StatementKind::Rows { .. } | StatementKind::Again(_));
    let Some(first) = statements.iter().position(works) else { return Vec::new() };
    let last = statements.iter().rposition(works).unwrap_or(first);
    statements[first..=last]
        .iter()
        .filter(|statement| statement.kind == StatementKind::Unread)
        .map(|statement| statement.span)
        .filter(|span| span.of(text).chars().any(char::is_alphanumeric))
        .collect()
}

impl Chosen {
    /// Whether the last repeat of the row is cut short.
    pub fn is_cut(&self) -> bool {
        self.fit.cut.is_some()
    }
}

