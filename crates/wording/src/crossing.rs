//! Names and explanations of crossings.
//!
//! A crossing is named `n/m LC`: n stitches pass before m others, to the left or to the right; P in the name
//! means that those behind are purled. Names and workings: Craft Yarn Council, Standards & Guidelines, cable
//! symbols (from memory). The four cases that have no name there (all purled, or those in front alone) are told
//! in words behind the name.

use loops::Cross;

/// The name: `3/3 LC`, `2/1 RPC`, `2/2 LC purled`.
pub(crate) fn name(cross: Cross) -> String {
    let sides = Sides::of(cross);
    let way = if cross.front { 'L' } else { 'R' };
    let kind = match (sides.front_purl, sides.back_purl) {
        (false, false) => format!("{way}C"),
        (false, true) => format!("{way}PC"),
        (true, true) => format!("{way}C purled"),
        (true, false) => format!("{way}C front purled"),
    };
    format!("{}/{} {kind}", sides.front, sides.back)
}

/// How it is worked.
pub(crate) fn explanation(cross: Cross) -> String {
    let place = if cross.front { "in front" } else { "at the back" };
    let stitches = if cross.held == 1 { "st" } else { "sts" };
    let verb = |purl| if purl { "purl" } else { "knit" };
    format!(
        "slip {held} {stitches} to cn and hold {place}, {} {}, {} {held} from cn",
        verb(cross.worked_purl),
        cross.worked,
        verb(cross.held_purl),
        held = cross.held,
    )
}

/// The two groups by where they lie, not by when they are worked.
struct Sides {
    front: u8,
    back: u8,
    front_purl: bool,
    back_purl: bool,
}

impl Sides {
    fn of(cross: Cross) -> Sides {
        let Cross { held, worked, front, held_purl, worked_purl } = cross;
        if front {
            Sides { front: held, back: worked, front_purl: held_purl, back_purl: worked_purl }
        } else {
            Sides { front: worked, back: held, front_purl: worked_purl, back_purl: held_purl }
        }
    }
}

#[cfg(test)]
mod tests {
    use loops::Op;

    /// Workings of the named four: Craft Yarn Council, cable table (from memory).
    #[test]
    fn names_tell_who_lies_in_front() {
        let cases = [
            ("c3/2f", "3/2 LC", "slip 3 sts to cn and hold in front, knit 2, knit 3 from cn"),
            ("c2/3b", "3/2 RC", "slip 2 sts to cn and hold at the back, knit 3, knit 2 from cn"),
            ("c2/1f(k,p)", "2/1 LPC", "slip 2 sts to cn and hold in front, purl 1, knit 2 from cn"),
            ("c1/2b(p,k)", "2/1 RPC", "slip 1 st to cn and hold at the back, knit 2, purl 1 from cn"),
            ("c2/2f(p,p)", "2/2 LC purled", "slip 2 sts to cn and hold in front, purl 2, purl 2 from cn"),
            (
                "c1/2b(k,p)",
                "2/1 RC front purled",
                "slip 1 st to cn and hold at the back, purl 2, knit 1 from cn",
            ),
        ];
        for (token, name, explanation) in cases {
            let Ok(Op::Cross(cross)) = token.parse() else { panic!("{token} is no crossing") };
            assert_eq!(super::name(cross), name);
            assert_eq!(super::explanation(cross), explanation, "{token}");
        }
    }
}
