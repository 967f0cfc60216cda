//! Grammar, idioms and terminals, put together from the data files: all that parsing needs besides the senses.
//!
//! Statements of a text and the stitches of an explanation are parsed by the same rules, from different ones of them.
//! Knows nothing of plans, rows or explanations. Start at [`Parser::builtin`].

use std::rc::Rc;
use std::sync::{Arc, OnceLock};

use loops::Op;
use notation::Lexicon;

use crate::ast::{Seq, Statement, StatementKind};
use crate::build::{Builder, Marks, Value};
use crate::forest::Forest;
use crate::grammar::{Grammar, Name};
use crate::lattice::{Answers, Idioms, Terminals, Weaver};
use crate::lexer::Token;
use crate::memory::Parsed;
use crate::rowwork::{Fit, expand};
use crate::stretch::Stretch;

/// The built-in grammar: rules with their costs.
pub const GRAMMAR: &str = include_str!("../data/grammar.txt");

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
    #[error("the grammar has no rule \"{0}\"")]
    NoStart(&'static str),
}

/// What parsing needs besides the senses.
pub struct Parser {
    grammar: Grammar,
    idioms: Idioms,
    terminals: Terminals,
    marks: Marks,
    /// Statements.
    block: Name,
    /// Stitches that are told without a row around them.
    steps: Name,
}

impl Parser {
    /// The one of the built-in grammar, made once.
    ///
    /// # Errors
    /// [`BadData`] only if the data files compiled in are broken.
    pub fn builtin() -> Result<Arc<Parser>, BadData> {
        static BUILTIN: OnceLock<Arc<Parser>> = OnceLock::new();
        if let Some(parser) = BUILTIN.get() {
            return Ok(Arc::clone(parser));
        }
        let parser = Arc::new(Parser::new(GRAMMAR)?);
        Ok(Arc::clone(BUILTIN.get_or_init(|| parser)))
    }

    /// One with this grammar.
    ///
    /// # Errors
    /// [`BadData`] that says what is wrong with the grammar.
    pub fn new(grammar: &str) -> Result<Parser, BadData> {
        let mut grammar = Grammar::parse(grammar)?;
        let idioms = Idioms::parse(include_str!("../data/idioms.toml"), &mut grammar)?;
        let terminals = Terminals::of(&mut grammar);
        let marks = marks(&mut grammar);
        let start = |name| grammar.find_name(name).ok_or(BadData::NoStart(name));
        let (block, steps) = (start("block")?, start("loosely")?);
        Ok(Parser { grammar, idioms, terminals, marks, block, steps })
    }

    /// Whether a word in lower case is one of any idiom.
    pub fn knows(&self, word: &str) -> bool {
        self.idioms.has(word)
    }

    /// Makes lattices with these senses.
    pub fn weaver<'a>(
        &'a self,
        lexicon: &'a Lexicon,
        answers: &'a Answers,
        odd: bool,
        clauses: bool,
    ) -> Weaver<'a> {
        let (idioms, terminals) = (&self.idioms, self.terminals);
        Weaver { lexicon, idioms, terminals, answers, odd, clauses }
    }

    /// A stretch of a text with every sense that its words may have.
    pub fn stretch(&self, lexicon: &Lexicon, tokens: &[Token]) -> Stretch<'_> {
        let edges = self.weaver(lexicon, &Answers::default(), false, false).weave(tokens).edges;
        Stretch::new(&self.grammar, self.block, edges)
    }

    /// The cheapest statements of a stretch; `odd` lets words be passed over inside a row, `clauses` whole clauses.
    pub fn statements(
        &self,
        lexicon: &Lexicon,
        tokens: &[Token],
        answers: &Answers,
        odd: bool,
        clauses: bool,
    ) -> Parsed {
        let lattice = self.weaver(lexicon, answers, odd, clauses).weave(tokens);
        let forest = Forest::parse(&self.grammar, &lattice.edges, &lattice.breaks, self.block);
        let mut builder = Builder { lexicon, tokens, leaves: &lattice.leaves, marks: self.marks };
        let best = forest.best(self.block, &mut builder).into_iter().next();
        let mut statements = Vec::new();
        if let Some((_, value)) = &best {
            unchain(value, &mut statements);
        }
        let cost = best.map_or(0.0, |(cost, _)| cost);
        Parsed { cost, statements, asked: lattice.asked.into_iter().collect() }
    }

    /// The stitches that all of some words tell, if they tell so many and no more, with nothing passed over.
    pub fn steps(&self, lexicon: &Lexicon, tokens: &[Token], answers: &Answers) -> Option<(f64, Vec<Op>)> {
        let lattice = self.weaver(lexicon, answers, false, false).weave(tokens);
        let forest = Forest::parse(&self.grammar, &lattice.edges, &lattice.breaks, self.steps);
        let mut builder = Builder { lexicon, tokens, leaves: &lattice.leaves, marks: self.marks };
        let (cost, value) = forest.best(self.steps, &mut builder).into_iter().next()?;
        let Value::Choices(choices) = value else { return None };
        let closed = |seq: &Seq| seq.shape().open.is_empty() && !seq.needs_the_needle() && !seq.passes_over();
        let (more, seq) = choices.iter().find(|(_, seq)| closed(seq))?;
        let stitches = expand(seq, &Fit::whole(), &[]);
        Some((cost + more, stitches.iter().map(|stitch| stitch.op).collect()))
    }
}

fn marks(grammar: &mut Grammar) -> Marks {
    Marks {
        div: grammar.terminal("DIV"),
        divided: grammar.terminal("DIVIDED"),
        plus: grammar.terminal("PLUS"),
        plus_each: grammar.terminal("PLUSEACH"),
        specimen: grammar.terminal("SPECIMEN"),
        begin_purl: grammar.terminal("BEGINPURL"),
        slipping_first: grammar.terminal("SLIPPING1ST"),
        slipped_one: grammar.terminal("SLIPPEDONE"),
        made_one: grammar.terminal("MADEONE"),
        with_number: grammar.terminal("WITHNUM"),
        even: grammar.terminal("EVEN"),
        uneven: grammar.terminal("UNEVEN"),
        per_pattern: grammar.terminal("PERPATTERN"),
        per_needle: grammar.terminal("PERNEEDLE"),
        each_needle: grammar.terminal("EACHNEEDLE"),
        round: grammar.terminal("ROUND"),
        more: grammar.terminal("MORETIMES"),
        shrink: [grammar.terminal("SHRINK"), grammar.terminal("SHRINKNEAR")],
        shrink_knit: grammar.terminal("SHRINKKNIT"),
        left_on_needle: grammar.terminal("LEFTONNEEDLE"),
        off_near: grammar.terminal("OFFNEAR"),
        on_near: grammar.terminal("ONNEAR"),
        on_part: grammar.terminal("ONPART"),
        when_last: grammar.terminal("WHENLAST"),
        reaches: grammar.terminal("REACHES"),
        number: grammar.terminal("NUM"),
        all_worked: grammar.terminal("ALLWORKED"),
        as_cast_on: grammar.terminal("ASCASTON"),
        grow_over: grammar.terminal("GROWOVER"),
        begin: grammar.terminal("ATBEGIN"),
        finish: grammar.terminal("ATFINISH"),
        needle_place: grammar.terminal("NDLPLACE"),
        ends: grammar.terminal("ATENDS"),
        placed: grammar.terminal("PLACED"),
        beside: grammar.terminal("BESIDE"),
    }
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
