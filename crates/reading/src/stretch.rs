//! The stretches of a text as the parser gets them, and how many parses each has; for holding the parser against others.
//!
//! What other parsers lack is left out: costs, and that some rules begin only where a statement may. Two phrases that are
//! the same terminal over the same words are one edge.

use crate::forest::{Edge, Forest};
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
            from_here.sort_by_key(|edge| (edge.to, edge.terminal));
            from_here.dedup_by_key(|edge| (edge.to, edge.terminal));
        }
        let breaks = vec![u8::MAX; edges.len()];
        Stretch { grammar, start, edges, breaks }
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
