//! The words of the key: what a symbol asks the worker to do.

use loops::{Cross, Op};

/// What to do, in a few words for a key.
pub fn words(op: Op) -> String {
    let named = match op {
        Op::Cross(cross) => return cross_words(cross),
        Op::K => "knit",
        Op::P => "purl",
        Op::Ktbl => "knit through the back loop",
        Op::Ptbl => "purl through the back loop",
        Op::Slk => "slip 1 as if to knit",
        Op::Slp => "slip 1 as if to purl",
        Op::SlWyif => "slip 1 as if to purl, yarn in front",
        Op::SlWyib => "slip 1 as if to purl, yarn at the back",
        Op::Yo => "yarn over",
        Op::Yo2 => "yarn over twice: 2 loops",
        Op::Yo3 => "yarn over three times: 3 loops",
        Op::SlYo => "slip 1 with the yarn laid over it",
        Op::Brk => "knit the slipped stitch together with its yarn",
        Op::Brp => "purl the slipped stitch together with its yarn",
        Op::M1 => "make 1 without a hole",
        Op::Kfb => "knit into front and back of 1 stitch",
        Op::Pfb => "purl into front and back of 1 stitch",
        Op::K1P1 => "knit 1, purl 1 into 1 stitch",
        Op::P1K1 => "purl 1, knit 1 into 1 stitch",
        Op::Kyok => "knit 1, yarn over, knit 1 into 1 stitch",
        Op::K1P1K1 => "knit 1, purl 1, knit 1 into 1 stitch",
        Op::K1P1K1P1 => "knit 1, purl 1 twice into 1 stitch",
        Op::K1P1K1P1K1 => "knit 1, purl 1 twice, knit 1 into 1 stitch",
        Op::K2tog => "knit 2 together",
        Op::Skp => "slip 1, knit 1, pass the slipped stitch over",
        Op::Ssk => "slip 2 one by one, knit them together through their backs",
        Op::K2togTbl => "knit 2 together through the back loops",
        Op::P2tog => "purl 2 together",
        Op::P2togTbl => "purl 2 together through the back loops",
        Op::Ssp => "slip 2 one by one, purl them together through their backs",
        Op::Spp => "slip 1, purl 1, pass the slipped stitch over",
        Op::K3tog => "knit 3 together",
        Op::K3togTbl => "knit 3 together through the back loops",
        Op::P3tog => "purl 3 together",
        Op::P3togTbl => "purl 3 together through the back loops",
        Op::Sk2p => "slip 1, knit 2 together, pass the slipped stitch over",
        Op::S2kp => "slip 2 together, knit 1, pass both slipped stitches over",
        Op::Sp2p => "slip 1, purl 2 together, pass the slipped stitch over",
        Op::S1k2po => "slip 1, knit 2, pass the slipped stitch over both",
        Op::K4tog => "knit 4 together",
        Op::P4tog => "purl 4 together",
        Op::K5tog => "knit 5 together",
        Op::P5tog => "purl 5 together",
        Op::Bo => "bind off 1",
        Op::Co => "cast on 1",
        Op::Pu => "pick up 1 from the edge",
        Op::Drop => "let 1 fall",
        Op::Hold => "put 1 on a holder",
        Op::Take => "knit 1 from the holder",
        Op::Turn => "turn, leaving the rest of the row",
    };
    named.to_owned()
}

fn cross_words(cross: Cross) -> String {
    let verb = |purl| if purl { "purl" } else { "knit" };
    let place = if cross.front { "in front" } else { "at the back" };
    let Cross { held, worked, held_purl, worked_purl, .. } = cross;
    format!("hold {held} {place}, {} {worked}, {} the {held} held", verb(worked_purl), verb(held_purl))
}

/// The trade's short name of a crossing on the right side, such as `3/3 LC` or `2/1 RPC`: the stitches that pass
/// in front, those that pass behind, the way the front ones travel, P where those behind are purled.
pub fn cross_name(cross: Cross) -> String {
    let (front, back, back_purl) = if cross.front {
        (cross.held, cross.worked, cross.worked_purl)
    } else {
        (cross.worked, cross.held, cross.held_purl)
    };
    let way = if cross.front { 'L' } else { 'R' };
    format!("{front}/{back} {way}{}C", if back_purl { "P" } else { "" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_operation_has_its_own_words() {
        let all: std::collections::HashSet<_> = Op::NAMED.iter().map(|&op| words(op)).collect();
        assert_eq!(all.len(), Op::NAMED.len());
        assert!(all.iter().all(|words| !words.is_empty()));
    }

    /// Names and workings of the Craft Yarn Council's cable symbols.
    #[test]
    fn crossings_are_named_by_front_back_and_way() {
        for (token, name, told) in [
            ("c3/3f", "3/3 LC", "hold 3 in front, knit 3, knit the 3 held"),
            ("c1/2b(p,k)", "2/1 RPC", "hold 1 at the back, knit 2, purl the 1 held"),
            ("c2/1f(k,p)", "2/1 LPC", "hold 2 in front, purl 1, knit the 2 held"),
        ] {
            let Ok(Op::Cross(cross)) = token.parse() else { panic!("{token} is a crossing") };
            assert_eq!((cross_name(cross), words(Op::Cross(cross))), (name.to_owned(), told.to_owned()));
        }
    }
}
