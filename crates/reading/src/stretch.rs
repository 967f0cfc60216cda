//! The stretches of a text as the parser gets them, and how many parses each has; for holding the parser against others.
//!
//! What other parsers lack is left out: costs, and that some rules begin only where a statement may. Two phrases that are
//! the same terminal over the same words are one edge.

use crate::forest::{Build, Edge, Forest};
use crate::grammar::{Grammar, Name};

/// The lattice over one stretch of a text.
pub struct Stretch<'r> {
    grammar: &'r Grammar,
    start: Name,
    edges: Vec<Vec<Edge>>,
    breaks: Vec<u8>,
}

impl<'r> Stretch<'r> {
    /// The stretch with these edges.
    pub(crate) fn new(grammar: &'r Grammar, start: Name, mut edges: Vec<Vec<Edge>>) -> Stretch<'r> {
        for from_here in &mut edges {
            from_here
                .sort_by(|a, b| (a.to, a.terminal).cmp(&(b.to, b.terminal)).then(a.cost.total_cmp(&b.cost)));
            from_here.dedup_by_key(|edge| (edge.to, edge.terminal));
        }
        let breaks = vec![u8::MAX; edges.len()];
        Stretch { grammar, start, edges, breaks }
    }

    /// The same stretch with the terminals of its cheapest parse alone; `None` where it has no parse.
    pub fn cheapest(&self) -> Option<Stretch<'r>> {
        let forest = Forest::parse(self.grammar, &self.edges, &self.breaks, self.start);
        let (_, way) = forest.best(self.start, &mut Way).into_iter().next()?;
        let mut edges = vec![Vec::new(); self.edges.len()];
        let mut from = 0;
        for edge in way {
            edges[from].push(edge);
            from = edge.to as usize;
        }
        Some(Stretch::new(self.grammar, self.start, edges))
    }

    /// How many words there are.
    pub fn words(&self) -> usize {
        self.edges.len()
    }

    /// The terminals: the word where each begins, the word before which it ends, and its name.
    pub fn edges(&self) -> impl Iterator<Item = (usize, usize, &'r str)> {
        self.edges.iter().enumerate().flat_map(move |(from, edges)| {
            edges.iter().map(move |edge| (from, edge.to as usize, self.grammar.terminal_name(edge.terminal)))
        })
    }

    /// Parses the stretch and counts its parses, modulo 2^128.
    pub fn parses(&self) -> u128 {
        Forest::parse(self.grammar, &self.edges, &self.breaks, self.start).count(self.start)
    }
}

/// Builds the terminals of a parse.
struct Way;

impl Build for Way {
    type Value = Vec<Edge>;

    fn edge(&mut self, edge: &Edge) -> Vec<Edge> {
        vec![*edge]
    }

    fn rule(&mut self, _: &str, parts: &[Vec<Edge>]) -> Vec<(f64, Vec<Edge>)> {
        vec![(0.0, parts.concat())]
    }

    fn gather(&mut self, _: &str, readings: Vec<(f64, Vec<Edge>)>) -> Vec<(f64, Vec<Edge>)> {
        readings
    }

    fn width(&self, _: &Vec<Edge>) -> usize {
        1
    }

    fn likeness(&self, _: &Vec<Edge>) -> u64 {
        0
    }
}
