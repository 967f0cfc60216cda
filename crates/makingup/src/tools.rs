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

/// A group of stitches off the needles, from one operation to another.
struct Group {
    waiting: u32,
    row: String,
    from: usize,
    /// Where the last of it was taken back; `None` while it waits.
    to: Option<usize>,
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
        let mut crossings: Vec<(usize, String)> = Vec::new();
        let mut place = 0;
        for row in &loops::work(piece).rows {
            tools.stitches.see(row.before.max(row.after), &row.label);
            let mut before = None;
            for stitch in &row.ops {
                place += 1;
                match stitch.op {
                    Op::Hold if before == Some(Op::Hold) => {
                        if let Some(group) = groups.last_mut() {
                            group.waiting += 1;
                        }
                    }
                    Op::Hold => {
                        groups.push(Group { waiting: 1, row: row.label.clone(), from: place, to: None });
                    }
                    Op::Take => take(&mut groups, place),
                    Op::Cross(_) => crossings.push((place, row.label.clone())),
                    _ => {}
                }
                before = Some(stitch.op);
            }
        }
        tools.see_groups(&groups, &crossings);
        for row in &piece.rows {
            tools.markers.see(markers(row, piece.worked), &row.label);
        }
        tools
    }

    /// Groups that are taken back need cable needles, the others holders.
    fn see_groups(&mut self, groups: &[Group], crossings: &[(usize, String)]) {
        let waiting = |at: usize| {
            groups.iter().filter(|group| group.from <= at && group.to.is_some_and(|to| at < to)).count()
                as u32
        };
        let starts =
            groups.iter().filter(|group| group.to.is_some()).map(|group| (group.from, 0, &group.row));
        let crossed = crossings.iter().map(|(place, row)| (*place, 1, row));
        let mut busy: Vec<(usize, u32, &String)> = starts.chain(crossed).collect();
        busy.sort_unstable();
        for (place, own, row) in busy {
            self.cable_needles.see(waiting(place) + own, row);
        }
        let staying = groups.iter().filter(|group| group.to.is_none());
        for (index, group) in staying.enumerate() {
            self.holders.see(index as u32 + 1, &group.row);
        }
    }
}

/// Takes the stitch that has waited longest.
fn take(groups: &mut [Group], place: usize) {
    if let Some(group) = groups.iter_mut().find(|group| group.waiting > 0) {
        group.waiting -= 1;
        if group.waiting == 0 {
            group.to = Some(place);
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
