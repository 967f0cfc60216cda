//! Which symbol stands for which operation, on which side.
//!
//! A symbol shows what is seen on the right side, so one symbol has a right-side and a wrong-side meaning. Two
//! operations that differ never share a symbol on one side: the chart can always be worked back into its rows.
//! Meanings follow the knit chart symbols of the Craft Yarn Council and of JIS L 0201-1995; see `glyph` for the
//! shapes.

use loops::{Face, Op, Side};

/// What a cell of a chart shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Symbol {
    /// What this operation makes when worked on the right side.
    Front(Op),
    /// What this operation makes when worked on the wrong side, where no right-side operation makes the same.
    Behind(Op),
    /// A stitch of a short row that rests on its needle.
    Unworked,
    /// A square without a stitch, kept so that the stitches above and below stay in line.
    NoStitch,
}

impl Symbol {
    /// The symbol for an operation worked with `side` facing.
    pub fn of(op: Op, side: Side) -> Symbol {
        match side {
            Side::Right => Symbol::Front(op),
            Side::Wrong => turned_over(op),
        }
    }

    /// The operation that this symbol asks for on the right side.
    pub fn on_right_side(self) -> Option<Op> {
        match self {
            Symbol::Front(op) => Some(op),
            Symbol::Behind(_) | Symbol::Unworked | Symbol::NoStitch => None,
        }
    }

    /// The operation that this symbol asks for on the wrong side.
    pub fn on_wrong_side(self) -> Option<Op> {
        match self {
            Symbol::Front(Op::Cross(cross)) => Some(Op::Cross(cross.from_behind())),
            Symbol::Front(_) => Op::NAMED.iter().copied().find(|&op| turned_over(op) == self),
            Symbol::Behind(op) => Some(op),
            Symbol::Unworked | Symbol::NoStitch => None,
        }
    }

    /// Whether the bar side of a stitch is seen.
    pub(crate) fn shows_purl(self) -> bool {
        match self {
            Symbol::Front(op) => op.face() == Face::Purl,
            Symbol::Behind(op) => op.face() == Face::Plain,
            Symbol::Unworked | Symbol::NoStitch => false,
        }
    }

    /// The operation that gives the symbol its shape.
    pub(crate) fn shape(self) -> Option<Op> {
        match self {
            Symbol::Front(op) | Symbol::Behind(op) => Some(op),
            Symbol::Unworked | Symbol::NoStitch => None,
        }
    }
}

/// The symbol of an operation worked on the wrong side.
///
/// It is that of [`Op::mirror`] where the two mirror each other. What only looks alike, such as a slipped stitch
/// passed over beside two worked together through their backs, keeps a sign of its own, and so does what has no
/// mirror: else the worker could not tell from the key what to do.
fn turned_over(op: Op) -> Symbol {
    match op.mirror() {
        Some(mirror) if mirror.mirror() == Some(op) => Symbol::Front(mirror),
        _ => Symbol::Behind(op),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_operations_share_a_symbol_on_one_side() {
        for side in [Side::Right, Side::Wrong] {
            let symbols: std::collections::HashSet<_> =
                Op::NAMED.iter().map(|&op| Symbol::of(op, side)).collect();
            assert_eq!(symbols.len(), Op::NAMED.len());
        }
    }

    #[test]
    fn a_symbol_gives_back_the_operation_it_came_from() {
        let crossings = ["c3/3f", "c2/1b(k,p)", "c1/2f(p,k)"].map(|name| name.parse::<Op>().expect("a name"));
        for &op in Op::NAMED.iter().chain(&crossings) {
            assert_eq!(Symbol::of(op, Side::Right).on_right_side(), Some(op));
            assert_eq!(Symbol::of(op, Side::Wrong).on_wrong_side(), Some(op));
        }
    }

    /// Meanings of the Craft Yarn Council's knit chart symbols.
    #[test]
    fn wrong_side_meanings_are_those_of_the_trade() {
        use Op::*;
        for (wrong, right) in [
            (P, K),
            (K, P),
            (P2tog, K2tog),
            (Ssp, Ssk),
            (K2tog, P2tog),
            (Ptbl, Ktbl),
            (SlWyif, SlWyib),
            (Yo, Yo),
        ] {
            assert_eq!(Symbol::of(wrong, Side::Wrong), Symbol::Front(right));
        }
    }
}
