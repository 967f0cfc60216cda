//! Works a piece stitch by stitch into its graph.

use std::collections::VecDeque;

use super::needles::Needles;
use super::{
    ClothGraph, ClothRow, ClothStitch, Fate, Layer, RowId, STITCH_LIMIT, Slip, StitchId, TooManyStitches,
};
use crate::program::{Piece, Side, Stitch, Worked};
use crate::{Face, Op, YarnAt};

impl ClothGraph {
    /// Works every row of a piece.
    ///
    /// Each row is worked in the direction that its side tells: another side than in the row before means that
    /// the work was turned. After a turn within a row the unworked stitches wait behind the worker; she meets
    /// them when she has turned once more. A holder gives its stitches back in the order in which they were put
    /// there, first the first; one that is taken back is a new loop whose parent is the held one. A slipped
    /// stitch is a new loop too, with the slipped one as its parent. A turn ends its row; operations after it
    /// in the same row are worked as if it stood last.
    ///
    /// A program with faults gives a graph all the same, and the count after each row is always that of
    /// [`crate::work()`]: a row that is short without a turn loses the rest ([`Fate::Left`]); one that asks for
    /// more than there is makes its loops with the parents that are there, or none ([`super::Hang::Missing`]);
    /// a row too long to spell out is passed over, its stitches moved to the other needle as they are.
    ///
    /// # Errors
    /// [`TooManyStitches`] when the graph would outgrow [`STITCH_LIMIT`].
    ///
    /// # Examples
    /// ```
    /// use loops::{ClothGraph, Piece, Side, Worked};
    /// let rows = ["k k2tog yo k", "p*4"];
    /// let piece = Piece::of_tokens(Worked::Flat, Side::Right, 4, rows).unwrap();
    /// let graph = ClothGraph::work(&piece).unwrap();
    /// let narrowed = graph.rows()[1].stitches().nth(1).unwrap();
    /// assert_eq!(graph.parents(narrowed).len(), 2);
    /// assert_eq!(graph.live().len(), 4);
    /// ```
    pub fn work(piece: &Piece) -> Result<ClothGraph, TooManyStitches> {
        let mut builder = Builder::new(piece);
        builder.cast_on(piece)?;
        for row in &piece.rows {
            builder.work_row(row.side, row.ops().ok().as_deref())?;
        }
        Ok(ClothGraph { live: builder.needles.into_next_order(), ..builder.graph })
    }
}

struct Builder {
    graph: ClothGraph,
    needles: Needles,
    holder: VecDeque<StitchId>,
    /// The row being worked.
    row: RowId,
    /// The operation being worked, of all of the piece.
    operation: Option<u32>,
    side: Side,
    /// Whether the yarn lies on the right side of the cloth; turning does not change that.
    yarn_on_right: bool,
    /// The loops that the operation at hand has taken; kept to spare an allocation for each.
    taken: Vec<StitchId>,
}

impl Builder {
    fn new(piece: &Piece) -> Builder {
        let first = piece.rows.first().map_or(piece.first_side, |row| row.side);
        // In flat work the needle is turned between the cast-on and the first row.
        let side = if piece.worked == Worked::Flat { first.turned() } else { first };
        Builder {
            graph: ClothGraph {
                stitches: Vec::new(),
                parents: Vec::new(),
                rows: Vec::new(),
                live: Vec::new(),
            },
            needles: Needles::new(piece.worked, side),
            holder: VecDeque::new(),
            row: RowId::CAST_ON,
            operation: None,
            side,
            // The first row begins with the yarn behind the work.
            yarn_on_right: first == Side::Wrong,
            taken: Vec::new(),
        }
    }

    fn cast_on(&mut self, piece: &Piece) -> Result<(), TooManyStitches> {
        let cast_on = Stitch { op: Op::Co, span: span::Span::DETACHED };
        if piece.cast_on as usize > STITCH_LIMIT {
            return Err(TooManyStitches);
        }
        for _ in 0..piece.cast_on {
            self.make(cast_on, 0, None, 0..0)?;
        }
        self.graph.rows.push(ClothRow {
            side: self.side,
            before: 0,
            after: piece.cast_on,
            taken: 0,
            left: 0,
            missing: 0,
            out_of_reach: 0,
            first: 0,
            end: piece.cast_on,
        });
        Ok(())
    }

    /// Works a row; one without operations because they are too many is passed over.
    fn work_row(&mut self, side: Side, ops: Option<&[Stitch]>) -> Result<(), TooManyStitches> {
        self.row = RowId(self.row.0 + 1);
        self.side = side;
        self.needles.begin_row(side);
        let before = count(self.needles.count());
        let first = count(self.graph.stitches.len());
        let mut row = ClothRow {
            side,
            before,
            after: before,
            taken: 0,
            left: 0,
            missing: 0,
            out_of_reach: 0,
            first,
            end: first,
        };
        let Some(ops) = ops else {
            self.needles.pass_over();
            self.graph.rows.push(row);
            return Ok(());
        };
        self.work_ops(ops, &mut row)?;
        row.after = count(self.needles.count());
        row.end = count(self.graph.stitches.len());
        self.graph.rows.push(row);
        Ok(())
    }

    fn work_ops(&mut self, ops: &[Stitch], row: &mut ClothRow) -> Result<(), TooManyStitches> {
        for &stitch in ops {
            self.operation = Some(self.operation.map_or(0, |before| before + 1));
            self.work_op(stitch, row)?;
        }
        if !ops.iter().any(|stitch| stitch.op == Op::Turn) {
            self.leave_rest(row);
        }
        Ok(())
    }

    fn work_op(&mut self, stitch: Stitch, row: &mut ClothRow) -> Result<(), TooManyStitches> {
        self.take_loops(stitch.op.takes(), row);
        let carried = self.carry_yarn(stitch.op);
        match stitch.op {
            Op::Bo => self.end_taken(Fate::BoundOff(self.row)),
            Op::Drop => self.end_taken(Fate::Dropped(self.row)),
            Op::Hold => {
                self.end_taken(Fate::Held(self.row));
                self.holder.extend(&self.taken);
            }
            Op::Take => {
                self.taken.extend(self.holder.pop_front());
                self.make(stitch, 0, None, 0..1)?;
            }
            Op::Cross(cross) => {
                for index in 0..stitch.op.makes() {
                    let worked = u32::from(cross.worked);
                    let source =
                        if index < worked { index + u32::from(cross.held) } else { index - worked } as usize;
                    self.make(stitch, index, carried, source..source + 1)?;
                }
            }
            op => {
                for index in 0..op.makes() {
                    self.make(stitch, index, carried, sources(op, index))?;
                }
            }
        }
        Ok(())
    }

    /// Takes loops from the left needle, as many as there are up to `wanted`.
    fn take_loops(&mut self, wanted: u32, row: &mut ClothRow) {
        self.taken.clear();
        for _ in 0..wanted {
            let Some((id, within_reach)) = self.needles.take() else { break };
            self.taken.push(id);
            row.out_of_reach += u32::from(!within_reach);
        }
        let taken = count(self.taken.len());
        row.taken += taken;
        row.missing += wanted - taken;
    }

    /// Moves the yarn as the operation does; for a slip, tells where it then runs.
    fn carry_yarn(&mut self, op: Op) -> Option<Slip> {
        match op.yarn() {
            YarnAt::Back => self.yarn_on_right = self.side == Side::Wrong,
            YarnAt::Front => self.yarn_on_right = self.side == Side::Right,
            YarnAt::Unmoved => {}
        }
        op.is_slip().then_some(match op {
            Op::SlYo => Slip::YarnOver,
            _ if self.yarn_on_right => Slip::YarnFront,
            _ => Slip::YarnBack,
        })
    }

    fn end_taken(&mut self, fate: Fate) {
        for id in &self.taken {
            self.graph.stitches[id.index()].fate = fate;
        }
    }

    fn leave_rest(&mut self, row: &mut ClothRow) {
        while let Some((id, _)) = self.needles.take() {
            self.graph.stitches[id.index()].fate = Fate::Left(self.row);
            row.left += 1;
        }
    }

    /// Makes loop `index` of an operation out of the `sources` among the loops taken, as far as they are there.
    fn make(
        &mut self,
        Stitch { op, span }: Stitch,
        index: u32,
        slipped: Option<Slip>,
        sources: std::ops::Range<usize>,
    ) -> Result<(), TooManyStitches> {
        if self.graph.stitches.len() >= STITCH_LIMIT {
            return Err(TooManyStitches);
        }
        let id = StitchId(count(self.graph.stitches.len()));
        let end = sources.end.min(self.taken.len());
        let parents = self.taken.get(sources.start..end).unwrap_or(&[]);
        let first_parent = count(self.graph.parents.len());
        self.graph.parents.extend(parents);
        for parent in parents {
            let parent = &mut self.graph.stitches[parent.index()];
            if !matches!(parent.fate, Fate::Worked(_)) {
                parent.fate = Fate::Worked(id);
            }
        }
        let below =
            parents.first().filter(|_| slipped.is_some()).map(|below| self.graph.stitches[below.index()]);
        let stitch = ClothStitch {
            op,
            operation: self.operation,
            // An operation makes at most the 510 loops of the widest crossing.
            index: index as u16,
            row: self.row,
            fate: Fate::Live,
            span,
            face: below.map_or_else(|| self.on_right(op.loop_face(index)), |below| below.face),
            twisted: op.twisted() || below.is_some_and(|below| below.twisted),
            slipped,
            crossing: self.layer(op, index),
            first_parent,
            // One parent in a crossing, at most five in any other operation.
            parent_count: parents.len() as u8,
        };
        self.graph.stitches.push(stitch);
        self.needles.put(id);
        Ok(())
    }

    /// A face shown to the worker, as the right side of the cloth shows it.
    fn on_right(&self, face: Face) -> Face {
        if self.side == Side::Right { face } else { face.behind() }
    }

    /// The part that loop `index` has in a crossing; the spare needle hangs before or behind the worker's side.
    fn layer(&self, op: Op, index: u32) -> Option<Layer> {
        let Op::Cross(cross) = op else { return None };
        let held = index >= u32::from(cross.worked);
        let before_worker = held == cross.front;
        let over = before_worker == (self.side == Side::Right);
        Some(if over { Layer::Over } else { Layer::Under })
    }
}

/// Which of the loops taken go into loop `index` that an operation makes, crossings aside.
fn sources(op: Op, index: u32) -> std::ops::Range<usize> {
    match (op, index) {
        // The first stitch is drawn over both others and rests on the nearer.
        (Op::S1k2po, 0) => 0..2,
        (Op::S1k2po, _) => 2..3,
        _ => 0..op.takes() as usize,
    }
}

/// A length as the number type of the graph; every list in it is far below its limit.
fn count(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}
