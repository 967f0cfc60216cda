//! Slips that were made in a small piece of lace, with what is found after them.

/// The piece.
pub const LACE: &str = "Cast on 25 stitches.\n\n\
    1st row.--Knit 5, * make 1, knit 2 together; repeat from * to the last 4 stitches, knit 4.\n\n\
    2nd row.--Purl.\n\n3rd row.--Knit.\n\n4th row.--Purl.\n";

/// A slip that was made.
pub struct Slipped {
    /// The row after which the stitches are counted.
    pub row: u32,
    /// How many there are.
    pub found: u32,
    /// Yarn overs on the needles.
    pub yarn_overs: u32,
    /// Holes in the row before.
    pub holes_below: Option<u32>,
    /// Whether a loose loop hangs below the needles.
    pub loose_loop: bool,
    /// What it is called.
    pub title: &'static str,
    /// The row it was made in.
    pub made_in: &'static str,
}

const fn slipped(
    (row, found): (u32, u32),
    (yarn_overs, holes_below, loose_loop): (u32, Option<u32>, bool),
    title: &'static str,
    made_in: &'static str,
) -> Slipped {
    Slipped { row, found, yarn_overs, holes_below, loose_loop, title, made_in }
}

/// One of each kind in the row with holes, in the row over it, and in a plain one.
pub const SLIPPED: [Slipped; 10] = [
    slipped((1, 24), (7, None, false), "A yarn over was forgotten", "Row 1"),
    slipped((1, 26), (8, None, false), "A decrease was forgotten", "Row 1"),
    slipped((1, 24), (8, None, true), "A stitch was dropped", "Row 1"),
    slipped((1, 24), (8, None, false), "Two stitches were taken together", "Row 1"),
    slipped((1, 26), (9, None, false), "There is a yarn over too many", "Row 1"),
    slipped((2, 24), (0, Some(8), false), "A yarn over of the row before slipped off", "Row 1"),
    slipped((2, 24), (0, Some(7), false), "A yarn over was forgotten", "Row 1"),
    slipped((2, 24), (0, Some(8), true), "A stitch was dropped", "Row 2"),
    slipped((3, 24), (0, Some(0), false), "Two stitches were taken together", "Row 3"),
    slipped((3, 26), (1, Some(0), false), "There is a yarn over too many", "Row 3"),
];
