//! Instructions that stand against the cloth about them.
//!
//! Knit or purl takes and makes alike, so no count tells a "knit 6" that was printed for "purl 6". But where all the
//! other instructions inside a row stand on stitches of their own face, one that stands wholly against those below
//! it is odd. Looks at worked rows alone; knows no corrections.

use loops::{Face, Op, Stitch};
use reading::Below;
use span::Span;

use crate::rows::Standing;

/// Nats against an instruction that alone stands against the row below. Guess.
pub const AGAINST: f64 = 1.6;
/// How many instructions must stand with the cloth for each that stands against it.
const WITH: usize = 2;
/// The most that are counted: what is odd so often is meant.
const MOST: usize = 4;

/// The words of the odd instructions of some rows.
pub fn odd(rows: &[Standing<'_>]) -> Vec<Span> {
    rows.iter().flat_map(|(ops, needle)| odd_in(ops, needle)).collect()
}

/// Nats against the odd instructions of some rows.
pub fn cost(rows: &[Standing<'_>]) -> f64 {
    AGAINST * odd(rows).len().min(MOST) as f64
}

/// How an instruction stands on the loops below it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stand {
    With,
    Against,
    Mixed,
}

/// The instructions of a row that stand against those below, where most others stand with them.
fn odd_in(ops: &[Stitch], needle: &[Below]) -> Vec<Span> {
    let mut runs: Vec<(Span, Option<Stand>)> = Vec::new();
    let mut taken = 0;
    for run in ops.chunk_by(|one, next| one.span == next.span) {
        let mut stand = None;
        for stitch in run {
            if let Some(here) = needle.get(taken).and_then(|below| stands(stitch.op, below)) {
                stand = Some(if stand.is_none_or(|known| known == here) { here } else { Stand::Mixed });
            }
            taken += stitch.op.takes() as usize;
        }
        runs.push((run[0].span, stand));
    }
    // The edges of a row are often worked otherwise.
    let inner = runs.get(1..runs.len().saturating_sub(1)).unwrap_or(&[]);
    let count = |stand: Stand| inner.iter().filter(|(_, own)| *own == Some(stand)).count();
    let (with, against) = (count(Stand::With), count(Stand::Against));
    if against == 0 || with <= WITH * against || count(Stand::Mixed) > 0 {
        return Vec::new();
    }
    inner.iter().filter(|(_, own)| *own == Some(Stand::Against)).map(|(span, _)| *span).collect()
}

/// Whether a plain or purled stitch shows the face of the one below; nothing of other stitches and of yarn overs.
fn stands(op: Op, below: &Below) -> Option<Stand> {
    if !matches!(op, Op::K | Op::P) || below.face == Face::Open || below.slipped {
        return None;
    }
    Some(if op.face() == below.face { Stand::With } else { Stand::Against })
}

#[cfg(test)]
mod tests {
    use reading::{Options, Reader};

    use super::*;
    use crate::rows::standing;

    fn words(text: &str) -> Vec<&str> {
        let reading = Reader::new().unwrap().read(text, &Options::default());
        odd(&standing(&reading.pieces[0])).iter().map(|odd| odd.of(text)).collect()
    }

    #[test]
    fn one_instruction_against_the_others_is_odd() {
        let cable = "Cast on 22 stitches. 1st row: purl 2, knit 6, purl 2, knit 2, purl 2, knit 6, purl 2. \
            2nd row: knit 2, purl 6, knit 2, purl 2, knit 2, knit 6, knit 2.";
        assert_eq!(words(cable), ["knit 6"]);
    }

    #[test]
    fn changed_checks_and_garter_edges_are_not() {
        for text in [
            "Cast on 12 stitches. 1st row: knit 3, purl 3, knit 3, purl 3. 2nd row: purl 3, knit 3, purl 3, knit 3.",
            "Cast on 12 stitches. 1st row: knit 12. 2nd row: knit 3, purl 6, knit 3.",
            "Cast on 12 stitches. 1st row: * knit 1, purl 1; repeat from *. 2nd row: * purl 1, knit 1; repeat from *.",
        ] {
            assert_eq!(words(text), Vec::<&str>::new(), "{text}");
        }
    }
}
