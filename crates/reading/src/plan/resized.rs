//! Rows told for one number of stitches, worked again on another: "knit 1, narrow, knit 17; repeat this row".
//!
//! Knows where plain stretches stand in a row. Knows no words.

use std::rc::Rc;

use super::told::{lengthened, plain_places};
use super::{PlannedRow, Readings};
use crate::ast::{Item, Seq, Until};

/// Rows that are worked again, of which those told stitch by stitch lead each to the next, and the whole to another number of
/// stitches.
pub struct Shrinking {
    /// Stitches more after all of them.
    step: i64,
}

impl Shrinking {
    /// Whether some rows are such.
    pub fn find(block: &[PlannedRow]) -> Option<Shrinking> {
        let fixed = |row: &PlannedRow| {
            let (_, seq) = row.readings.first()?;
            Some(seq.shape()).filter(|shape| shape.open.is_empty()).map(|shape| shape.fixed)
        };
        let told: Vec<_> = block.iter().filter_map(fixed).collect();
        let step: i64 = told.iter().map(|sum| i64::from(sum.makes) - i64::from(sum.takes)).sum();
        let joined = told.windows(2).all(|pair| pair[0].makes == pair[1].takes);
        (step != 0 && joined).then_some(Shrinking { step })
    }

    /// One of the rows for so many stitches; as it is told where it fits them or any number, or where they are not what some
    /// rounds of all the rows lead to.
    pub fn row_on(&self, row: &PlannedRow, stitches: u32) -> PlannedRow {
        let readings = self.on(&row.readings, stitches).unwrap_or_else(|| Rc::clone(&row.readings));
        PlannedRow { readings, ..row.clone() }
    }

    fn on(&self, row: &Readings, stitches: u32) -> Option<Readings> {
        let resized = |(cost, seq): &(f64, Seq)| Some((*cost, self.resized(seq, stitches)?));
        let all: Vec<_> = row.iter().filter_map(resized).collect();
        (!all.is_empty()).then(|| Rc::new(all))
    }

    fn resized(&self, seq: &Seq, stitches: u32) -> Option<Seq> {
        let shape = seq.shape();
        let by = i64::from(stitches) - i64::from(shape.fixed.takes);
        if by == 0 || !shape.open.is_empty() || by % self.step != 0 {
            return None;
        }
        let by = i32::try_from(by).ok()?;
        let places = plain_places(seq);
        let longest = places.iter().map(|(_, times)| *times).max()?;
        let mut sides: Vec<usize> =
            places.iter().filter(|(_, times)| *times == longest).map(|(at, _)| *at).collect();
        // What cannot be shared alike goes to the one in the middle, or to the last.
        let share = |sides: &[usize]| i32::try_from(rounds(seq) as usize * sides.len()).ok();
        if by % share(&sides)? != 0 {
            let middle = if sides.len() % 2 == 1 { sides.len() / 2 } else { sides.len() - 1 };
            sides = vec![sides[middle]];
        }
        let share = share(&sides)?;
        if by % share == 0 { lengthened(seq, &sides, by / share) } else { None }
    }
}

/// How often the part is worked in which the plain stretches stand.
fn rounds(seq: &Seq) -> u32 {
    let told = seq.items().into_iter().find_map(|item| match item {
        Item::Group { until: Until::Times(times), .. } => Some(times),
        _ => None,
    });
    told.unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use loops::tokens;

    use crate::{Options, Reader};

    fn last_row(text: &str) -> String {
        let reading = Reader::new().unwrap().read(text, &Options::default());
        reading.pieces[0].worked.rows.last().map(|row| tokens(&row.ops)).unwrap_or_default()
    }

    #[test]
    fn a_row_that_narrows_is_repeated_on_fewer_stitches() {
        let told = "Cast on 20 stitches. 1st row: knit 1, knit 2 together, knit 17. ";
        assert_eq!(last_row(&format!("{told}Repeat this row twice more.")), "k k2tog k*15");
        let middle = "Cast on 21 stitches. 1st row: knit 9, knit 3 together, knit 9. ";
        assert_eq!(last_row(&format!("{middle}Repeat this row until 15 stitches remain.")), "k*7 k3tog k*7");
    }
}
