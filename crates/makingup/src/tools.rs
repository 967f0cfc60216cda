//! What is in use at the same time: needles, cable needles, holders, markers, and the row where it is most.

use loops::{Op, Piece, Row, Step, Worked};
use serde::Serialize;

/// Tools that a piece keeps busy.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Tools {
    /// Needles in the hands or in the work: two flat, those that hold the stitches and one more in the round.
    pub needles: u32,
    /// Stitches that they must hold.
    pub stitches: Peak,
    /// Cable needles or small holders: groups of stitches that wait and are worked again.
    pub cable_needles: Peak,
    /// Stitch holders: groups that stay off the needles to the end.
    pub holders: Peak,
    /// Markers between repeats.
    pub markers: Peak,
}

/// The most of something, and where.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Peak {
    /// How many at once.
    pub count: u32,
    /// The first row with so many; none where there are none.
    pub row: Option<String>,
}

impl Peak {
    fn see(&mut self, count: u32, row: &str) {
        if count > self.count {
            *self = Peak { count, row: Some(row.to_owned()) };
        }
    }
}

/// A group of stitches off the needles.
struct Group {
    stitches: u32,
    since: String,
}

impl Tools {
    /// The tools of a piece. Stitches are taken back in the order in which they were put aside.
    pub fn of(piece: &Piece) -> Tools {
        let mut tools = Tools {
            needles: match (piece.worked, piece.needles.len() as u32) {
                (Worked::Flat, _) => 2,
                (Worked::Round, 0) => 5,
                (Worked::Round, holding) => holding + 1,
            },
            stitches: Peak::default(),
            cable_needles: Peak::default(),
            holders: Peak::default(),
            markers: Peak::default(),
        };
        tools.stitches.see(piece.cast_on, "cast-on");
        let mut groups: Vec<Group> = Vec::new();
        for row in &loops::work(piece).rows {
            tools.stitches.see(row.before.max(row.after), &row.label);
            let mut before = None;
            for stitch in &row.ops {
                let busy = groups.len() as u32;
                match stitch.op {
                    Op::Hold => match groups.last_mut().filter(|_| before == Some(Op::Hold)) {
                        Some(group) => group.stitches += 1,
                        None => groups.push(Group { stitches: 1, since: row.label.clone() }),
                    },
                    Op::Take => take(&mut groups),
                    Op::Cross(_) => tools.cable_needles.see(busy + 1, &row.label),
                    _ => {}
                }
                tools.cable_needles.see(groups.len() as u32, &row.label);
                before = Some(stitch.op);
            }
        }
        tools.stay(&groups);
        for row in &piece.rows {
            tools.markers.see(markers(row, piece.worked), &row.label);
        }
        tools
    }

    /// Groups that are never taken back need holders instead.
    fn stay(&mut self, groups: &[Group]) {
        for (index, group) in groups.iter().enumerate() {
            self.holders.see(index as u32 + 1, &group.since);
        }
        let waiting = self.cable_needles.count.saturating_sub(groups.len() as u32);
        if waiting < self.cable_needles.count {
            self.cable_needles =
                Peak { count: waiting, row: self.cable_needles.row.take().filter(|_| waiting > 0) };
        }
    }
}

fn take(groups: &mut Vec<Group>) {
    if let Some(group) = groups.first_mut() {
        group.stitches -= 1;
        if group.stitches == 0 {
            groups.remove(0);
        }
    }
}

/// Markers between the repeats of a row; a run of one operation needs none.
fn markers(row: &Row, worked: Worked) -> u32 {
    let between = |times: u32| if worked == Worked::Round { times } else { times.saturating_sub(1) };
    let repeats = row.steps.iter().filter_map(|step| match step {
        Step::Times(times, body) if *times > 1 && body.len() > 1 => Some(between(*times)),
        _ => None,
    });
    repeats.sum()
}
