//! The algebra of stitch operations.
//!
//! Each operation takes loops from the left needle and makes loops on the right one. One table gives the facts
//! of all; a crossing of any width is computed. Names are those that files and JSON use.
//!
//! Takes and makes: common practice, no published source. Lean and the pairs that mirror each other: the
//! symbol meanings of the Craft Yarn Council's guide (from memory), checked by following the loops of each
//! operation; where both sources differ the entry says so.

use std::fmt;

/// The face that a stitch shows to whoever works it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Face {
    /// The smooth side, a knit stitch.
    Plain,
    /// The bar side, a purl stitch.
    Purl,
    /// A loop that shows neither: a yarn over, a slipped stitch, a stitch that is gone.
    Open,
}

/// The way a stitch leans, seen from the side it is worked on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Lean {
    /// Upright.
    Upright,
    /// The top leans to the left.
    Left,
    /// The top leans to the right.
    Right,
}

/// Where the yarn lies after the operation, seen by the worker.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum YarnAt {
    /// Behind the work.
    Back,
    /// Before the work.
    Front,
    /// Where it was.
    Unmoved,
}

/// What is known of an operation whatever the row it stands in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Facts {
    /// Its name in files and JSON.
    pub name: &'static str,
    /// Loops taken from the left needle.
    pub takes: u32,
    /// Loops made on the right needle.
    pub makes: u32,
    /// The face shown to the worker.
    pub face: Face,
    /// The lean seen by the worker.
    pub lean: Lean,
    /// Whether the loop is turned about itself.
    pub twisted: bool,
    /// Where the yarn ends.
    pub yarn: YarnAt,
}

macro_rules! operations {
    ($($(#[$doc:meta])* $variant:ident $name:literal $takes:literal $makes:literal $face:ident $lean:ident $twist:literal $yarn:ident;)*) => {
        /// One operation of the needles.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Op {
            $($(#[$doc])* $variant,)*
            /// A crossing of two groups of stitches with a spare needle.
            Cross(Cross),
        }

        impl Op {
            /// Every operation but the crossings.
            pub const NAMED: &[Op] = &[$(Op::$variant,)*];

            /// The facts of a named operation; `None` for a crossing.
            #[inline]
            pub fn facts(self) -> Option<&'static Facts> {
                match self {
                    $(Op::$variant => {
                        const FACTS: Facts = Facts { name: $name, takes: $takes, makes: $makes, face: Face::$face, lean: Lean::$lean, twisted: $twist, yarn: YarnAt::$yarn };
                        Some(&FACTS)
                    })*
                    Op::Cross(_) => None,
                }
            }
        }
    };
}

operations! {
    /// Knit.
    K "k" 1 1 Plain Upright false Back;
    /// Purl.
    P "p" 1 1 Purl Upright false Front;
    /// Knit through the back loop.
    Ktbl "ktbl" 1 1 Plain Upright true Back;
    /// Purl through the back loop.
    Ptbl "ptbl" 1 1 Purl Upright true Front;
    /// Slip as if to knit.
    Slk "slk" 1 1 Open Upright true Unmoved;
    /// Slip as if to purl, the yarn where it is.
    Slp "slp" 1 1 Open Upright false Unmoved;
    /// Slip as if to purl, the yarn before the stitch.
    SlWyif "slwyif" 1 1 Open Upright false Front;
    /// Slip as if to purl, the yarn behind the stitch.
    SlWyib "slwyib" 1 1 Open Upright false Back;
    /// Yarn over.
    Yo "yo" 0 1 Open Upright false Back;
    /// Yarn wound twice: two loops.
    Yo2 "yo2" 0 2 Open Upright false Back;
    /// Yarn wound three times: three loops.
    Yo3 "yo3" 0 3 Open Upright false Back;
    /// Slip one with the yarn laid over it: one unit.
    SlYo "slyo" 1 1 Open Upright false Back;
    /// Knit a unit of slipped stitch and yarn together.
    Brk "brk" 1 1 Plain Upright false Back;
    /// Purl a unit of slipped stitch and yarn together.
    Brp "brp" 1 1 Purl Upright false Front;
    /// Make one without a hole.
    M1 "m1" 0 1 Plain Upright true Back;
    /// Knit into the front and the back of one stitch.
    Kfb "kfb" 1 2 Plain Upright false Back;
    /// Purl into the front and the back of one stitch.
    Pfb "pfb" 1 2 Purl Upright false Front;
    /// Knit and purl into one stitch.
    K1P1 "k1p1" 1 2 Plain Upright false Front;
    /// Purl and knit into one stitch.
    P1K1 "p1k1" 1 2 Plain Upright false Back;
    /// Knit, yarn over, knit into one stitch.
    Kyok "kyok" 1 3 Plain Upright false Back;
    /// Knit, purl, knit into one stitch.
    K1P1K1 "k1p1k1" 1 3 Plain Upright false Back;
    /// Four worked into one stitch.
    K1P1K1P1 "k1p1k1p1" 1 4 Plain Upright false Front;
    /// Five worked into one stitch.
    K1P1K1P1K1 "k1p1k1p1k1" 1 5 Plain Upright false Back;
    /// Knit two together.
    K2tog "k2tog" 2 1 Plain Right false Back;
    /// Slip one, knit one, pass the slipped one over.
    Skp "skp" 2 1 Plain Left false Back;
    /// Slip two one by one, knit them together through the back.
    Ssk "ssk" 2 1 Plain Left false Back;
    /// Knit two together through the back loops.
    K2togTbl "k2togtbl" 2 1 Plain Left true Back;
    /// Purl two together.
    P2tog "p2tog" 2 1 Purl Left false Front;
    /// Purl two together through the back loops.
    P2togTbl "p2togtbl" 2 1 Purl Right true Front;
    /// Slip two one by one, purl them together through the back.
    Ssp "ssp" 2 1 Purl Right false Front;
    /// Slip one, purl one, pass the slipped one over: the new loop runs through the second stitch and then the
    /// first, as in purling two together, so both lean alike.
    Spp "spp" 2 1 Purl Left false Front;
    /// Knit three together.
    K3tog "k3tog" 3 1 Plain Right false Back;
    /// Knit three together through the back loops.
    K3togTbl "k3togtbl" 3 1 Plain Left true Back;
    /// Purl three together.
    P3tog "p3tog" 3 1 Purl Left false Front;
    /// Purl three together through the back loops.
    P3togTbl "p3togtbl" 3 1 Purl Right true Front;
    /// Slip one, knit two together, pass the slipped one over.
    Sk2p "sk2p" 3 1 Plain Left false Back;
    /// Slip two together, knit one, pass the two over.
    S2kp "s2kp" 3 1 Plain Upright false Back;
    /// Slip one, purl two together, pass the slipped one over; leans as purling three together does.
    Sp2p "sp2p" 3 1 Purl Left false Front;
    /// Slip one, knit two, pass the slipped one over both.
    S1k2po "s1k2po" 3 2 Plain Left false Back;
    /// Knit four together.
    K4tog "k4tog" 4 1 Plain Right false Back;
    /// Purl four together.
    P4tog "p4tog" 4 1 Purl Left false Front;
    /// Knit five together.
    K5tog "k5tog" 5 1 Plain Right false Back;
    /// Purl five together.
    P5tog "p5tog" 5 1 Purl Left false Front;
    /// Bind off one; the loop left on the right needle is written as the next stitch worked.
    Bo "bo" 1 0 Open Upright false Unmoved;
    /// Cast on one.
    Co "co" 0 1 Open Upright false Back;
    /// Pick up one from an edge.
    Pu "pu" 0 1 Plain Upright false Back;
    /// Let one fall.
    Drop "drop" 1 0 Open Upright false Unmoved;
    /// Put one on a holder.
    Hold "hold" 1 0 Open Upright false Unmoved;
    /// Work one back from a holder.
    Take "take" 0 1 Plain Upright false Back;
    /// Turn the work with the rest of the row unworked.
    Turn "turn" 0 0 Open Upright false Unmoved;
}

/// A crossing: `held` stitches wait on a spare needle while `worked` are knitted, then the held ones are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Cross {
    /// Stitches on the spare needle.
    pub held: u8,
    /// Stitches worked before the held ones.
    pub worked: u8,
    /// Whether the spare needle hangs before the work.
    pub front: bool,
    /// Whether the held stitches are purled.
    pub held_purl: bool,
    /// Whether the others are purled.
    pub worked_purl: bool,
}

impl Op {
    /// Loops taken from the left needle.
    #[inline]
    pub fn takes(self) -> u32 {
        match self {
            Op::Cross(cross) => cross.width(),
            _ => self.facts().map_or(0, |facts| facts.takes),
        }
    }

    /// Loops made on the right needle.
    #[inline]
    pub fn makes(self) -> u32 {
        match self {
            Op::Cross(cross) => cross.width(),
            _ => self.facts().map_or(0, |facts| facts.makes),
        }
    }

    /// The face shown to the worker.
    pub fn face(self) -> Face {
        match self {
            Op::Cross(cross) => {
                if cross.held_purl && cross.worked_purl {
                    Face::Purl
                } else {
                    Face::Plain
                }
            }
            _ => self.facts().map_or(Face::Open, |facts| facts.face),
        }
    }

    /// The lean seen by the worker.
    pub fn lean(self) -> Lean {
        match self {
            Op::Cross(cross) => {
                if cross.front {
                    Lean::Left
                } else {
                    Lean::Right
                }
            }
            _ => self.facts().map_or(Lean::Upright, |facts| facts.lean),
        }
    }

    /// Whether fewer loops are made than taken, and at least one is made.
    pub fn is_decrease(self) -> bool {
        self.makes() > 0 && self.makes() < self.takes()
    }

    /// Whether more loops are made than taken.
    pub fn is_increase(self) -> bool {
        self.makes() > self.takes()
    }

    /// Where the yarn lies after the operation, seen by the worker.
    pub fn yarn(self) -> YarnAt {
        match self {
            Op::Cross(cross) if cross.held_purl => YarnAt::Front,
            Op::Cross(_) => YarnAt::Back,
            _ => self.facts().map_or(YarnAt::Unmoved, |facts| facts.yarn),
        }
    }

    /// Whether the loop is turned about itself.
    pub fn twisted(self) -> bool {
        self.facts().is_some_and(|facts| facts.twisted)
    }

    /// Whether a stitch passes to the right needle unworked.
    pub fn is_slip(self) -> bool {
        matches!(self, Op::Slk | Op::Slp | Op::SlWyif | Op::SlWyib | Op::SlYo)
    }

    /// The face that loop `index` (from 0, in the order made) shows to the worker.
    ///
    /// The second loop of an increase into front and back shows a bar on the smooth side (common practice, no
    /// published source).
    pub fn loop_face(self, index: u32) -> Face {
        use Op::*;
        let even = index.is_multiple_of(2);
        match self {
            Kfb | K1P1 | K1P1K1 | K1P1K1P1 | K1P1K1P1K1 => plain_if(even),
            Pfb | P1K1 => plain_if(!even),
            Kyok if !even => Face::Open,
            Cross(cross) if index < u32::from(cross.worked) => plain_if(!cross.worked_purl),
            Cross(cross) => plain_if(!cross.held_purl),
            _ => self.face(),
        }
    }

    /// The operation that makes, on the other side of the cloth, what this one makes on this side; itself where
    /// [`Op::mirror`] knows none.
    pub fn from_behind(self) -> Op {
        self.mirror().unwrap_or(self)
    }

    /// The operation of the other half of a piece that is the same on both sides: a decrease that leans the other way.
    pub fn reversed(self) -> Op {
        use Op::*;
        match self {
            K2tog => Skp,
            Skp | Ssk | K2togTbl => K2tog,
            P2tog => P2togTbl,
            P2togTbl | Ssp => P2tog,
            K3tog => Sk2p,
            K3togTbl => K3tog,
            P3tog => P3togTbl,
            P3togTbl => P3tog,
            other => other,
        }
    }

    /// The same with a crossing that leans the other way; any other operation as it is.
    pub fn crossed(self) -> Op {
        match self {
            Op::Cross(cross) => Op::Cross(Cross { front: !cross.front, ..cross }),
            other => other,
        }
    }

    /// The operation that makes, on the other side of the cloth, what this one makes on this side; `None`
    /// where no operation of the table does.
    ///
    /// Operations that look alike from both sides are their own mirror. `skp` and `sk2p` are matched with
    /// operations of the same lean that order the hidden stitches another way.
    pub fn mirror(self) -> Option<Op> {
        use Op::*;
        Some(match self {
            K => P,
            P => K,
            Ktbl => Ptbl,
            Ptbl => Ktbl,
            SlWyif => SlWyib,
            SlWyib => SlWyif,
            Brk => Brp,
            Brp => Brk,
            Kfb => Pfb,
            Pfb => Kfb,
            K2tog => P2tog,
            P2tog | Spp => K2tog,
            Skp | Ssk => Ssp,
            Ssp => Ssk,
            K2togTbl => P2togTbl,
            P2togTbl => K2togTbl,
            K3tog => P3tog,
            P3tog | Sp2p => K3tog,
            K3togTbl | Sk2p => P3togTbl,
            P3togTbl => K3togTbl,
            K4tog => P4tog,
            P4tog => K4tog,
            K5tog => P5tog,
            P5tog => K5tog,
            Cross(cross) => Cross(cross.from_behind()),
            // Reversing the order of the loops and changing their faces gives these back.
            K1P1 | P1K1 | K1P1K1P1 => self,
            // These show no face of their own.
            Slk | Slp | SlYo | Yo | Yo2 | Yo3 | Bo | Co | Drop | Hold | Turn => self,
            M1 | Kyok | K1P1K1 | K1P1K1P1K1 | S2kp | S1k2po | Pu | Take => return None,
        })
    }
}

fn plain_if(plain: bool) -> Face {
    if plain { Face::Plain } else { Face::Purl }
}

impl Face {
    /// The face that the same loop shows on the other side of the cloth.
    pub fn behind(self) -> Face {
        match self {
            Face::Plain => Face::Purl,
            Face::Purl => Face::Plain,
            Face::Open => Face::Open,
        }
    }
}

impl Cross {
    /// Stitches that take part.
    pub fn width(self) -> u32 {
        u32::from(self.held) + u32::from(self.worked)
    }

    /// The same crossing worked from the other side: the needle hangs on the same side of the worker, because
    /// both the order of the stitches and the side that faces her are reversed; knit and purl change places.
    pub fn from_behind(self) -> Cross {
        Cross {
            held: self.worked,
            worked: self.held,
            front: self.front,
            held_purl: !self.worked_purl,
            worked_purl: !self.held_purl,
        }
    }
}

impl fmt::Display for Op {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Op::Cross(cross) => cross.fmt(f),
            op => f.write_str(op.facts().map_or("", |facts| facts.name)),
        }
    }
}

impl fmt::Display for Cross {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let letter = |purl| if purl { 'p' } else { 'k' };
        write!(f, "c{}/{}{}", self.held, self.worked, if self.front { 'f' } else { 'b' })?;
        if self.held_purl || self.worked_purl {
            write!(f, "({},{})", letter(self.held_purl), letter(self.worked_purl))?;
        }
        Ok(())
    }
}

/// A name that stands for no operation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownOp(pub String);

impl fmt::Display for UnknownOp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "no stitch operation is called \"{}\"", self.0)
    }
}

impl std::error::Error for UnknownOp {}

impl std::str::FromStr for Op {
    type Err = UnknownOp;

    fn from_str(name: &str) -> Result<Op, UnknownOp> {
        let named = Op::NAMED.iter().copied().find(|op| op.facts().is_some_and(|facts| facts.name == name));
        named.or_else(|| parse_cross(name)).ok_or_else(|| UnknownOp(name.to_owned()))
    }
}

/// Reads `c3/3f`, `c2/1b(k,p)`.
fn parse_cross(name: &str) -> Option<Op> {
    let (head, faces) = match name.strip_suffix(')') {
        Some(rest) => rest.split_once('(').map(|(head, faces)| (head, Some(faces)))?,
        None => (name, None),
    };
    let (held, rest) = head.strip_prefix('c')?.split_once('/')?;
    let (worked, front) = match rest.strip_suffix('f') {
        Some(worked) => (worked, true),
        None => (rest.strip_suffix('b')?, false),
    };
    let purl = |letter: &str| match letter {
        "k" => Some(false),
        "p" => Some(true),
        _ => None,
    };
    let (held_purl, worked_purl) = match faces {
        Some(faces) => faces.split_once(',').and_then(|(h, w)| Some((purl(h)?, purl(w)?)))?,
        None => (false, false),
    };
    let (held, worked) = (held.parse().ok()?, worked.parse().ok()?);
    (held > 0 && worked > 0).then_some(Op::Cross(Cross { held, worked, front, held_purl, worked_purl }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_is_read_back() {
        for &op in Op::NAMED {
            assert_eq!(op.to_string().parse(), Ok(op));
        }
        for name in ["c3/3f", "c2/1b(k,p)", "c1/1b"] {
            assert_eq!(name.parse::<Op>().map(|op| op.to_string()), Ok(name.to_owned()));
        }
        assert!("c0/3f".parse::<Op>().is_err());
        assert!("knit".parse::<Op>().is_err());
    }

    #[test]
    fn seen_from_behind_twice_is_the_same_count_and_lean() {
        for &op in Op::NAMED {
            let twice = op.from_behind().from_behind();
            assert_eq!(
                (twice.takes(), twice.makes(), twice.lean()),
                (op.takes(), op.makes(), op.lean()),
                "{op}"
            );
        }
    }

    /// Takes and makes of every operation: common practice, no published source.
    #[test]
    fn takes_and_makes_are_those_of_the_craft() {
        let table: &[(u32, u32, &str)] = &[
            (1, 1, "k p ktbl ptbl slk slp slwyif slwyib slyo brk brp"),
            (0, 1, "yo m1 co pu take"),
            (0, 2, "yo2"),
            (0, 3, "yo3"),
            (1, 2, "kfb pfb k1p1 p1k1"),
            (1, 3, "kyok k1p1k1"),
            (1, 4, "k1p1k1p1"),
            (1, 5, "k1p1k1p1k1"),
            (2, 1, "k2tog skp ssk k2togtbl p2tog p2togtbl ssp spp"),
            (3, 1, "k3tog k3togtbl p3tog p3togtbl sk2p s2kp sp2p"),
            (3, 2, "s1k2po"),
            (4, 1, "k4tog p4tog"),
            (5, 1, "k5tog p5tog"),
            (1, 0, "bo drop hold"),
            (0, 0, "turn"),
            (2, 2, "c1/1f c1/1b(p,k)"),
            (6, 6, "c3/3f"),
            (5, 5, "c2/3b"),
        ];
        let mut named = 0;
        for &(takes, makes, names) in table {
            for name in names.split(' ') {
                let op: Op = name.parse().unwrap();
                assert_eq!((op.takes(), op.makes()), (takes, makes), "{name}");
                named += usize::from(op.facts().is_some());
            }
        }
        assert_eq!(named, Op::NAMED.len(), "every named operation stands in the table once");
    }

    /// The lean on the right side of the cloth, each operation worked on the side of its face. Craft Yarn
    /// Council, knit abbreviations (from memory); `spp` and `sp2p` by following the loops.
    #[test]
    fn decreases_lean_as_the_trade_says() {
        let table = [
            (Lean::Right, "k2tog p2tog k3tog p3tog k4tog p4tog k5tog p5tog spp sp2p"),
            (Lean::Left, "ssk skp ssp p2togtbl k2togtbl sk2p k3togtbl p3togtbl s1k2po"),
            (Lean::Upright, "s2kp"),
        ];
        for (lean, names) in table {
            for name in names.split(' ') {
                let op: Op = name.parse().unwrap();
                let shown = match (op.face(), op.lean()) {
                    (Face::Purl, lean) => mirrored(lean),
                    (_, lean) => lean,
                };
                assert_eq!(shown, lean, "{name}");
            }
        }
    }

    #[test]
    fn a_mirror_shows_the_other_face_and_the_other_lean() {
        for &op in Op::NAMED {
            let Some(mirror) = op.mirror() else { continue };
            assert_eq!((mirror.takes(), mirror.makes()), (op.takes(), op.makes()), "{op}");
            assert_eq!(mirror.lean(), mirrored(op.lean()), "{op}");
            // The bar of an increase into front and back stands on the other side of its stitch when worked
            // from behind; the trade's symbols pass over that.
            if matches!(op, Op::Kfb | Op::Pfb) {
                continue;
            }
            for index in 0..op.makes() {
                let behind = mirror.loop_face(op.makes() - 1 - index);
                assert_eq!(behind, op.loop_face(index).behind(), "{op}");
            }
        }
    }

    #[test]
    fn a_crossing_from_behind_is_the_same_crossing() {
        for (front, behind) in
            [("c3/3f", "c3/3f(p,p)"), ("c2/1b(p,k)", "c1/2b(p,k)"), ("c1/1f", "c1/1f(p,p)")]
        {
            let op: Op = front.parse().unwrap();
            assert_eq!(op.from_behind().to_string(), behind);
            assert_eq!(op.from_behind().from_behind(), op);
        }
    }

    fn mirrored(lean: Lean) -> Lean {
        match lean {
            Lean::Upright => Lean::Upright,
            Lean::Left => Lean::Right,
            Lean::Right => Lean::Left,
        }
    }
}
