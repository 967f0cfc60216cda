//! Links the stitches of a cloth graph into a mesh.

use loops::{
    ClothGraph, ClothRow, ClothStitch, Face, Fate, Hang, Layer, Op, Piece, RowId, Side, Slip, StitchId,
};

use super::{DOWN, Fold, LEFT, Link, LinkKind, Mesh, MeshError, NONE, PATCH_LIMIT, Part, Patch, RIGHT, UP};
use crate::fabric::{CROSSING_LEAN, Fabric, LENGTH_LET_FALL, height_of, sign_of, width_of};
use crate::grouped::Grouped;

/// How far from the stitch beside it the yarn of a turn that was let fall counts to be, in stitch widths.
const TIED: f64 = 0.2;

impl Mesh {
    /// The mesh of a piece: every stitch of its cloth graph a patch, in the same order.
    ///
    /// A bind-off within a row leaves a gap in the row above it; loops let fall leave a ladder that the yarn
    /// spans; loops put on a holder are spanned by the yarn and pulled together. A row of a round piece that
    /// takes and leaves all loops is closed on itself.
    ///
    /// # Errors
    /// [`MeshError`] when there is no cloth, too much of it, or several cloths.
    pub fn of(piece: &Piece, fabric: &Fabric) -> Result<Mesh, MeshError> {
        check_constants(fabric)?;
        let graph = ClothGraph::work(piece)?;
        let count = graph.stitches().len();
        let worked_rows = graph.rows().iter().skip(1).filter(|row| row.made() > 0).count();
        if count == 0 || worked_rows == 0 {
            return Err(MeshError::Empty);
        }
        if count > PATCH_LIMIT {
            return Err(MeshError::TooMany(count));
        }
        let mut builder = Builder::new(&graph, fabric, piece.worked == loops::Worked::Round);
        builder.courses();
        builder.wales();
        builder.crossings();
        builder.strands();
        builder.picked_up();
        builder.shears();
        builder.folds();
        builder.contacts();
        builder.finish()
    }
}

fn check_constants(fabric: &Fabric) -> Result<(), MeshError> {
    let constants = [
        ("rows to a stitch width", fabric.rows_per_stitch),
        ("stiffness against stretching", fabric.stretch),
        ("stiffness against shear", fabric.shear),
        ("stiffness of a strand", fabric.strand),
        ("stiffness against folding", fabric.bend),
        ("height at a change of face", fabric.change_height),
        ("width at a change of face", fabric.change_width),
    ];
    match constants.iter().find(|(_, value)| !(value.is_finite() && *value > 0.0)) {
        Some(&(name, _)) => Err(MeshError::Constant(name)),
        None => Ok(()),
    }
}

pub(super) struct Builder<'a> {
    pub(super) graph: &'a ClothGraph,
    pub(super) fabric: &'a Fabric,
    round: bool,
    /// The face of each stitch; of an open strand that of its neighbour, which its foot and its head go along with.
    faces: Vec<i8>,
    pub(super) mesh: Mesh,
}

impl<'a> Builder<'a> {
    fn new(graph: &'a ClothGraph, fabric: &'a Fabric, round: bool) -> Builder<'a> {
        let count = graph.stitches().len();
        let stitches = (0..count).map(|place| patch_of(graph, fabric, id_of(place)));
        let in_row = |row: &ClothRow| -> Vec<u32> {
            let nodes = left_to_right(row).into_iter();
            nodes.filter(|&node| !let_fall(&graph.stitches()[node as usize])).collect()
        };
        let rows = graph.rows().iter().map(in_row).filter(|row| !row.is_empty()).collect();
        let mesh = Mesh {
            stitches: stitches.flatten().collect(),
            links: Vec::with_capacity(count * 4),
            main: vec![[NONE; 4]; count],
            folds: vec![Fold::default(); count],
            feet: Grouped::default(),
            start: Vec::new(),
            triangles: Vec::new(),
            parts: vec![Part {
                first: 0,
                end: count as u32,
                rows,
                lies: !round,
                too_full: false,
                table: 0.0,
            }],
        };
        let faces = mesh.stitches.iter().map(|patch| match patch.face {
            0 => [graph.previous(patch.stitch), graph.next(patch.stitch)]
                .into_iter()
                .flatten()
                .map(|id| mesh.stitches[id.index()].face)
                .find(|face| *face != 0)
                .unwrap_or(0),
            face => face,
        });
        let faces = faces.collect();
        let mut builder = Builder { graph, fabric, round, faces, mesh };
        builder.sizes();
        builder
    }

    /// Changes the sizes of stitches that stand on one of the other face.
    fn sizes(&mut self) {
        for place in 0..self.mesh.len() {
            let face = self.faces[place];
            let hangs_from = match self.graph.hangs(id_of(place)) {
                Hang::Between(Some(beside), _) => self.graph.parents(beside),
                _ => self.graph.parents(id_of(place)),
            };
            if hangs_from.iter().any(|parent| self.faces[parent.index()] * face < 0) {
                self.mesh.stitches[place].height *= self.fabric.change_height;
                self.mesh.stitches[place].width *= self.fabric.change_width;
            }
            self.mesh.stitches[place].height +=
                hangs_from.iter().map(|id| self.let_fall_beside(*id)).fold(0.0, f64::max);
        }
    }

    /// How much longer a loop is drawn by turns of the yarn beside it that were let fall, in stitch widths.
    fn let_fall_beside(&self, stitch: StitchId) -> f64 {
        let falls = |place: &StitchId| self.mesh.stitches[place.index()].let_fall;
        let after =
            std::iter::successors(self.graph.next(stitch), |&id| self.graph.next(id)).take_while(falls);
        LENGTH_LET_FALL * after.count() as f64
    }

    pub(super) fn link(&mut self, kind: LinkKind, from: usize, to: usize, rest: f64, modulus: f64) -> u32 {
        let id = self.mesh.links.len() as u32;
        let stiffness = modulus / rest;
        self.mesh.links.push(Link { from: from as u32, to: to as u32, rest, stiffness, kind });
        id
    }

    fn course(&mut self, left: usize, right: usize, gap: f64) {
        if left == right || self.mesh.main[left][RIGHT] != NONE || self.mesh.main[right][LEFT] != NONE {
            return;
        }
        let rest = gap + (self.mesh.stitches[left].width + self.mesh.stitches[right].width) / 2.0;
        let id = self.link(LinkKind::Course, left, right, rest, self.fabric.stretch);
        self.mesh.main[left][RIGHT] = id;
        self.mesh.main[right][LEFT] = id;
    }

    /// Links the stitches of each row, in the order of working, and closes rounds.
    fn courses(&mut self) {
        for (index, row) in self.graph.rows().iter().enumerate() {
            let row_id = RowId::new(index as u32);
            let made: Vec<usize> = row.stitches().map(StitchId::index).collect();
            let made = self.without_let_fall(made);
            for pair in made.windows(2) {
                if let Some(gap) = self.gap(row_id, pair[0], pair[1]) {
                    let (left, right) = in_order(row.side, pair[0], pair[1]);
                    self.course(left, right, gap);
                }
            }
            let whole = row.made() == row.after && made.len() >= 3;
            if let ([first, .., last], true) = (made.as_slice(), self.round && whole) {
                let (left, right) = in_order(row.side, *last, *first);
                self.course(left, right, 0.0);
                for &node in &made {
                    self.mesh.stitches[node].closed = true;
                }
            }
        }
    }

    /// The stitches of a row without those let fall, which are tied to the one before them: they no longer part
    /// their neighbours.
    fn without_let_fall(&mut self, made: Vec<usize>) -> Vec<usize> {
        let (fallen, kept): (Vec<usize>, Vec<usize>) =
            made.into_iter().partition(|&node| self.mesh.stitches[node].let_fall);
        for node in fallen {
            let beside = match kept.binary_search(&node) {
                Ok(place) | Err(place) => kept.get(place.saturating_sub(1)).copied(),
            };
            if let Some(beside) = beside {
                self.link(LinkKind::Strand, beside, node, TIED, self.fabric.strand);
            }
        }
        kept
    }

    /// How much wider than usual the yarn spans from one stitch of a row to the next; `None` where a bind-off
    /// between them parts the cloth.
    fn gap(&self, row: RowId, one: usize, other: usize) -> Option<f64> {
        let (Some(&one), Some(&other)) =
            (self.graph.parents(id_of(one)).last(), self.graph.parents(id_of(other)).first())
        else {
            return Some(0.0);
        };
        let (low, high) = (one.min(other).index(), one.max(other).index());
        let same_row = self.graph.stitches()[low].row == self.graph.stitches()[high].row;
        if !same_row {
            return Some(0.0);
        }
        let mut gap = 0.0;
        for between in &self.graph.stitches()[low..high] {
            match between.fate {
                Fate::BoundOff(bound) if bound == row => return None,
                Fate::Dropped(dropped) if dropped == row && !let_fall(between) => gap += 1.0,
                _ => {}
            }
        }
        Some(gap)
    }

    /// Links every stitch to those it was worked into.
    fn wales(&mut self) {
        for place in 0..self.mesh.len() {
            let parents = self.graph.parents(id_of(place));
            let count = parents.len();
            for (order, parent) in parents.iter().enumerate() {
                let beside = order as f64 - (count as f64 - 1.0) / 2.0;
                let lean = self.lean(place, beside, count);
                let height = self.mesh.stitches[place].height;
                let rest = (height * height + lean * lean).sqrt();
                let id = self.link(LinkKind::Wale, parent.index(), place, rest, self.fabric.stretch);
                if order == count / 2 {
                    self.mesh.main[place][DOWN] = id;
                }
                self.offer_up(parent.index(), place, id);
            }
        }
    }

    /// Lets the two groups of a crossing pass each other: the link between them, in the crossing row and in the
    /// row beneath, holds them together but neither folds nor braces the cloth.
    fn crossings(&mut self) {
        for (place, stitch) in self.graph.stitches().iter().enumerate() {
            let Op::Cross(cross) = stitch.op else { continue };
            if u32::from(stitch.index) != u32::from(cross.worked) {
                continue;
            }
            let beneath = |place: usize| self.graph.parents(id_of(place)).first().map(|id| id.index());
            let first_worked = place.checked_sub(cross.worked as usize).and_then(beneath);
            let last_held = beneath(place + cross.held as usize - 1);
            self.part(place - 1, place);
            if let (Some(one), Some(other)) = (first_worked, last_held) {
                self.part(one, other);
            }
        }
    }

    /// Makes the link between two neighbours along a row no main link of either.
    fn part(&mut self, one: usize, other: usize) {
        for (left, right) in [(one, other), (other, one)] {
            if self.mesh.neighbour(left, RIGHT) == Some(right) {
                self.mesh.main[left][RIGHT] = NONE;
                self.mesh.main[right][LEFT] = NONE;
            }
        }
    }

    /// How far a loop rests beside the column of one of its parents, in stitch widths.
    ///
    /// Loops drawn together, and those made out of one, rest as far apart as they would have stood: so what grows
    /// and what shrinks by a stitch a row has edges of one length.
    fn lean(&self, place: usize, beside: f64, parents: usize) -> f64 {
        let stitch = &self.graph.stitches()[place];
        let index = f64::from(stitch.index);
        match stitch.op {
            Op::Cross(cross) => {
                let held = u32::from(stitch.index) >= u32::from(cross.worked);
                CROSSING_LEAN * f64::from(if held { cross.worked } else { cross.held })
            }
            op if parents == 1 && op.makes() > 1 && op.takes() == 1 => {
                index - (f64::from(op.makes()) - 1.0) / 2.0
            }
            _ => beside,
        }
    }

    /// Makes a wale link the upper one of its lower node, when it is the middle one of several.
    fn offer_up(&mut self, parent: usize, child: usize, link: u32) {
        let stitch = &self.graph.stitches()[child];
        let middle = match stitch.op {
            Op::Cross(_) => true,
            op => u32::from(stitch.index) == op.makes() / 2,
        };
        if middle || self.mesh.main[parent][UP] == NONE {
            self.mesh.main[parent][UP] = link;
        }
    }

    /// Hangs yarn overs and strands lifted into stitches from the stitches beneath their neighbours.
    fn strands(&mut self) {
        for place in 0..self.mesh.len() {
            let Hang::Between(before, after) = self.graph.hangs(id_of(place)) else { continue };
            if self.mesh.stitches[place].op == Op::Co || self.mesh.stitches[place].let_fall {
                continue;
            }
            // An open strand gives way; one that is worked without a hole holds like a stitch.
            let open = self.mesh.stitches[place].face == 0;
            let modulus = if open { self.fabric.strand } else { self.fabric.stretch * 0.5 };
            let height = self.mesh.stitches[place].height;
            let rest = (height * height + 0.25).sqrt();
            let beneath = [
                before.and_then(|id| self.graph.parents(id).last().copied()),
                after.and_then(|id| self.graph.parents(id).first().copied()),
            ];
            for parent in beneath.into_iter().flatten() {
                self.link(LinkKind::Strand, parent.index(), place, rest, modulus);
            }
        }
    }

    /// Braces every patch between four stitches with its two diagonals.
    fn shears(&mut self) {
        for place in 0..self.mesh.len() {
            let Some(right) = self.mesh.neighbour(place, RIGHT) else { continue };
            let (Some(below), Some(below_right)) =
                (self.outer_parent(place, true), self.outer_parent(right, false))
            else {
                continue;
            };
            if self.mesh.neighbour(below, RIGHT) != Some(below_right) {
                continue;
            }
            let patch = |node: usize| &self.mesh.stitches[node];
            let width =
                (patch(place).width + patch(right).width + patch(below).width + patch(below_right).width)
                    / 4.0;
            let height = (patch(place).height + patch(right).height) / 2.0;
            let rest = (width * width + height * height).sqrt();
            self.link(LinkKind::Shear, below, right, rest, self.fabric.shear);
            self.link(LinkKind::Shear, below_right, place, rest, self.fabric.shear);
        }
    }

    /// The rightmost or leftmost stitch that a stitch was worked into.
    fn outer_parent(&self, place: usize, rightmost: bool) -> Option<usize> {
        let parents = self.graph.parents(id_of(place));
        let stitch = &self.graph.stitches()[place];
        if matches!(stitch.op, Op::Cross(_)) {
            return None;
        }
        let side = self.graph.rows()[stitch.row.index()].side;
        let last = (side == Side::Right) != rightmost;
        let parent = if last { parents.last() } else { parents.first() };
        parent.map(|parent| parent.index())
    }

    fn folds(&mut self) {
        for place in 0..self.mesh.len() {
            let sign = f64::from(self.mesh.stitches[place].face);
            let change = |one, other| {
                let other_face = |direction| {
                    self.mesh
                        .neighbour(place, direction)
                        .is_some_and(|node| f64::from(self.mesh.stitches[node].face) * sign < 0.0)
                };
                f64::from(u8::from(other_face(one) || other_face(other)))
            };
            let (beside, above) = (change(LEFT, RIGHT), change(DOWN, UP));
            // Among stitches of the other face on all sides, as in moss stitch, the two folds would push the
            // stitch opposite ways out of the plane; they hold each other and it lies flat.
            self.mesh.folds[place] = Fold {
                course: sign * (self.fabric.curl_course + self.fabric.rib * beside * (1.0 - above)),
                wale: sign * (self.fabric.curl_wale + self.fabric.ridge * above * (1.0 - beside)),
            };
        }
    }

    fn finish(mut self) -> Result<Mesh, MeshError> {
        let parts = components(&self.mesh);
        if parts > 1 {
            return Err(MeshError::Disconnected(parts));
        }
        self.mesh.lay_out();
        self.mesh.triangulate();
        Ok(self.mesh)
    }
}

/// The patch of a stitch that is in the graph.
fn patch_of(graph: &ClothGraph, fabric: &Fabric, id: StitchId) -> Option<Patch> {
    let stitch = graph.stitch(id)?;
    Some(Patch {
        stitch: id,
        op: stitch.op,
        operation: stitch.operation,
        face: sign_of(face_of(graph, stitch)) as i8,
        twisted: stitch.twisted,
        slipped: stitch.slipped.is_some(),
        float_before: stitch.slipped == Some(Slip::YarnFront),
        laid_over: stitch.slipped == Some(Slip::YarnOver),
        leftwards: graph.rows()[stitch.row.index()].side == Side::Right,
        row_end: graph.next(id).is_none(),
        layer: match stitch.crossing {
            Some(Layer::Over) => 1,
            Some(Layer::Under) => -1,
            None => 0,
        },
        width: width_of(stitch),
        height: fabric.plain_height() * height_of(stitch),
        let_fall: let_fall(stitch),
        closed: false,
        bound_off: matches!(stitch.fate, Fate::BoundOff(_)),
    })
}

/// Whether a stitch is a turn of the yarn about the needle that the next row lets fall.
fn let_fall(stitch: &ClothStitch) -> bool {
    stitch.face == Face::Open && stitch.slipped.is_none() && matches!(stitch.fate, Fate::Dropped(_))
}

/// The face of a stitch; a cast-on loop shows that of what is worked into it.
fn face_of(graph: &ClothGraph, stitch: &ClothStitch) -> Face {
    match (stitch.op, stitch.fate) {
        (Op::Co, Fate::Worked(child)) => graph.stitch(child).map_or(Face::Open, |child| child.face),
        _ => stitch.face,
    }
}

pub(super) fn id_of(place: usize) -> StitchId {
    // A mesh has at most PATCH_LIMIT nodes.
    StitchId::new(place as u32)
}

/// Two stitches in order of working as left and right.
fn in_order(side: Side, earlier: usize, later: usize) -> (usize, usize) {
    if side == Side::Right { (later, earlier) } else { (earlier, later) }
}

/// The nodes of a row from left to right: with the right side facing, a row is worked from right to left.
pub(super) fn left_to_right(row: &ClothRow) -> Vec<u32> {
    let nodes = row.stitches().map(|id| id.index() as u32);
    if row.side == Side::Right { nodes.rev().collect() } else { nodes.collect() }
}

/// The number of parts that no link joins.
pub(super) fn components(mesh: &Mesh) -> usize {
    let mut root: Vec<u32> = (0..mesh.len() as u32).collect();
    fn find(root: &mut [u32], mut node: u32) -> u32 {
        while root[node as usize] != node {
            root[node as usize] = root[root[node as usize] as usize];
            node = root[node as usize];
        }
        node
    }
    let mut parts = mesh.len();
    for link in &mesh.links {
        let (one, other) = (find(&mut root, link.from), find(&mut root, link.to));
        if one != other {
            root[one.max(other) as usize] = one.min(other);
            parts -= 1;
        }
    }
    parts
}
