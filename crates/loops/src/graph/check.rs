//! Tries the invariants of a graph. A guard for tests: the builder keeps them all for any piece.

use std::fmt;

use super::{ClothGraph, Fate, RowId, StitchId};
use crate::Op;

/// An invariant that a graph breaks, told in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Inconsistent(String);

impl fmt::Display for Inconsistent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Inconsistent {}

impl ClothGraph {
    /// Tries every invariant.
    ///
    /// # Errors
    /// The first one found broken.
    pub fn check(&self) -> Result<(), Inconsistent> {
        self.check_numbering()?;
        self.check_fates()?;
        self.check_parents()?;
        self.check_live()?;
        self.check_accounts()
    }

    /// The rows cut the stitches into runs, in order and without a gap.
    fn check_numbering(&self) -> Result<(), Inconsistent> {
        let mut expected = 0;
        for (place, row) in self.rows.iter().enumerate() {
            require(row.first == expected && row.end >= row.first, || {
                format!("row {place} has a gap before it")
            })?;
            expected = row.end;
            for id in row.stitches() {
                let here = self.stitch(id).is_some_and(|stitch| stitch.row.index() == place);
                require(here, || format!("stitch {} does not stand in row {place}", id.0))?;
            }
        }
        require(expected as usize == self.stitches.len(), || "stitches stand in no row".to_owned())
    }

    /// No row makes or loses a loop unaccounted for. The other checks, made before, see to it that every id
    /// here is one of this graph.
    fn check_accounts(&self) -> Result<(), Inconsistent> {
        let (mut spent, mut left) = (vec![0; self.rows.len()], vec![0; self.rows.len()]);
        for stitch in &self.stitches {
            match stitch.fate {
                Fate::Live => {}
                // When this one was put on its holder is no longer known.
                Fate::Worked(child) if self.stitches[child.index()].op == Op::Take => {}
                Fate::Worked(child) => spent[self.stitches[child.index()].row.index()] += 1,
                Fate::BoundOff(row) | Fate::Dropped(row) | Fate::Held(row) => spent[row.index()] += 1,
                Fate::Left(row) => left[row.index()] += 1,
            }
        }
        let (mut before, mut from_holders, mut untold) = (0, 0, 0);
        for (place, row) in self.rows.iter().enumerate() {
            let sum =
                i64::from(row.before) - i64::from(row.taken) - i64::from(row.left) + i64::from(row.made());
            let told = row.before == before && i64::from(row.after) == sum && row.left == left[place];
            require(told, || format!("the account of row {place} does not come out"))?;
            require(row.out_of_reach <= row.taken && spent[place] <= row.taken, || {
                format!("row {place} takes more than it took")
            })?;
            before = row.after;
            untold += row.taken - spent[place];
            let returned =
                |id: &StitchId| self.stitches[id.index()].op == Op::Take && !self.parents(*id).is_empty();
            from_holders += row.stitches().filter(returned).count();
        }
        require(untold as usize == from_holders, || "holders give back what was not put there".to_owned())
    }

    /// Every stitch is named by its parents as what became of them, together with its sisters.
    fn check_parents(&self) -> Result<(), Inconsistent> {
        for (place, stitch) in self.stitches.iter().enumerate() {
            let parents = self.parents(StitchId(place as u32));
            require(parents.len() == usize::from(stitch.parent_count), || {
                format!("stitch {place} lacks parents")
            })?;
            for parent in parents {
                let known = self.stitch(*parent).filter(|parent| parent.row < stitch.row);
                let known =
                    known.ok_or_else(|| Inconsistent(format!("stitch {place} stands on a later one")))?;
                let Fate::Worked(first) = known.fate else {
                    return Err(Inconsistent(format!("a parent of stitch {place} was not worked")));
                };
                let sister =
                    self.stitch(first).filter(|sister| sister.op == stitch.op && sister.row == stitch.row);
                let apart = sister.map(|sister| i64::from(stitch.index) - i64::from(sister.index));
                require(apart == Some(place as i64 - i64::from(first.0)), || {
                    format!("a parent of stitch {place} was worked twice")
                })?;
            }
        }
        Ok(())
    }

    /// What a stitch became knows it as a parent, and no row ends a stitch before it was made.
    fn check_fates(&self) -> Result<(), Inconsistent> {
        for (place, stitch) in self.stitches.iter().enumerate() {
            let id = StitchId(place as u32);
            let holds = match stitch.fate {
                Fate::Live => true,
                Fate::Worked(child) => self.parents(child).contains(&id),
                Fate::BoundOff(row) | Fate::Dropped(row) | Fate::Held(row) | Fate::Left(row) => {
                    row > stitch.row && row < RowId(self.rows.len() as u32)
                }
            };
            require(holds, || format!("the fate of stitch {place} is not borne out"))?;
        }
        Ok(())
    }

    /// The needles hold every live stitch once, and no other.
    fn check_live(&self) -> Result<(), Inconsistent> {
        let mut live = self.live.clone();
        live.sort_unstable();
        let marked = self.stitches.iter().enumerate().filter(|(_, stitch)| stitch.fate == Fate::Live);
        let marked = marked.map(|(place, _)| StitchId(place as u32));
        require(live.into_iter().eq(marked), || "the needles do not hold the live stitches".to_owned())?;
        let after = self.rows.last().map_or(0, |row| row.after);
        require(after as usize == self.live.len(), || "the last row leaves another number".to_owned())
    }
}

fn require(holds: bool, told: impl FnOnce() -> String) -> Result<(), Inconsistent> {
    if holds { Ok(()) } else { Err(Inconsistent(told())) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Piece, Side, Worked};

    fn graph() -> ClothGraph {
        let rows = ["k kfb k2tog hold", "p*3 take bo"];
        let piece = Piece::of_tokens(Worked::Flat, Side::Right, 5, rows).unwrap();
        ClothGraph::work(&piece).unwrap()
    }

    /// Each way of breaking a graph, and a part of what is said of it.
    #[test]
    fn a_broken_graph_is_found_out() {
        assert_eq!(graph().check(), Ok(()));
        type Breakage = (&'static str, fn(&mut ClothGraph));
        let breakages: &[Breakage] = &[
            ("gap", |graph| graph.rows[1].first += 1),
            ("not stand in row", |graph| graph.stitches[0].row = RowId(1)),
            ("stand in no row", |graph| {
                let last = graph.stitches[0];
                graph.stitches.push(last);
            }),
            ("not borne out", |graph| graph.stitches[2].fate = Fate::Worked(StitchId(0))),
            ("not borne out", |graph| graph.stitches[2].fate = Fate::Dropped(RowId(9))),
            ("was not worked", |graph| graph.stitches[4].fate = Fate::Live),
            ("lacks parents", |graph| graph.stitches[0].parent_count = 99),
            ("a later one", |graph| graph.parents[2] = StitchId(10)),
            ("worked twice", |graph| graph.parents[2] = StitchId(4)),
            ("live stitches", |graph| graph.live[0] = graph.live[1]),
            ("row 1 does not come out", |graph| graph.rows[1].after += 1),
            ("takes more", |graph| graph.rows[1].out_of_reach = 9),
        ];
        for (told, damage) in breakages {
            let mut graph = graph();
            damage(&mut graph);
            let found = graph.check().expect_err(told).to_string();
            assert!(found.contains(told), "expected \"{told}\", found \"{found}\"");
        }
    }
}
