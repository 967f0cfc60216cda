//! The terms of the trade: one table for operations, one for the words around them.
//!
//! Abbreviations follow the Craft Yarn Council's knitting master list (Standards & Guidelines, from memory) as
//! far as it goes; brioche and the wider decreases, which it lacks, and the British forms are common practice,
//! no published source. Explanations are our own. The British names of the yarn over by its place (yfwd, yrn,
//! yon) are not used: `yo` is understood in both countries and does not change with its neighbours.

use std::borrow::Cow;

use loops::Op;

use crate::crossing;
use crate::phrase::Run;

/// The country whose terms are used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Terms {
    /// As in the United States.
    #[default]
    Us,
    /// As in the United Kingdom.
    Uk,
}

/// A word that is not the same in both countries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Word {
    /// To end stitches so that they do not run.
    BindOff,
    /// Stitches and rows to a length.
    Gauge,
    /// Knit on the right side, purl on the wrong side.
    Stockinette,
    /// Knit over purl and purl over knit, every stitch and every row.
    SeedStitch,
}

impl Terms {
    /// The word for something.
    pub fn word(self, word: Word) -> &'static str {
        let (us, uk) = match word {
            Word::BindOff => ("bind off", "cast off"),
            Word::Gauge => ("gauge", "tension"),
            Word::Stockinette => ("stockinette stitch", "stocking stitch"),
            Word::SeedStitch => ("seed stitch", "moss stitch"),
        };
        match self {
            Terms::Us => us,
            Terms::Uk => uk,
        }
    }

    /// A run as it stands in a row: `k5`, `k2tog 3 times`.
    pub(crate) fn run(self, run: Run) -> String {
        let Run { op, count } = run;
        let entry = match op {
            Op::Cross(cross) => return tight(&crossing::name(cross), count),
            _ => entry(op),
        };
        let text = match self {
            Terms::Us => entry.us,
            Terms::Uk => entry.uk,
        };
        match entry.form {
            Form::Tight => tight(text, count),
            Form::Apart if count == 1 => text.to_owned(),
            Form::Apart => format!("({text}) {count} times"),
            Form::Counted => {
                let place =
                    if count == 1 { "next st".to_owned() } else { format!("each of next {count} sts") };
                text.replace("{place}", &place)
                    .replace("{sts}", &stitches(count))
                    .replace("{n}", &count.to_string())
            }
        }
    }

    /// How an operation is named in the list of abbreviations.
    pub(crate) fn key(self, op: Op) -> Cow<'static, str> {
        match op {
            Op::Cross(cross) => Cow::Owned(crossing::name(cross)),
            _ => Cow::Borrowed(match self {
                Terms::Us => entry(op).key,
                Terms::Uk => entry(op).uk_key,
            }),
        }
    }
}

/// What an operation means, in words that need no more than [`needs`].
pub(crate) fn meaning(op: Op) -> Cow<'static, str> {
    match op {
        Op::Cross(cross) => Cow::Owned(crossing::explanation(cross)),
        _ => Cow::Borrowed(entry(op).meaning),
    }
}

/// The words around operations that a run or its explanation needs explained.
pub(crate) fn needs(op: Op) -> &'static [&'static str] {
    match op {
        Op::Cross(_) => &["cn"],
        _ => entry(op).needs,
    }
}

/// What a word around operations means.
pub(crate) fn word_meaning(abbr: &str) -> Option<&'static str> {
    WORDS.iter().find(|(known, _)| *known == abbr).map(|(_, meaning)| *meaning)
}

/// `1 st`, `5 sts`.
pub(crate) fn stitches(count: u32) -> String {
    if count == 1 { "1 st".to_owned() } else { format!("{count} sts") }
}

fn tight(text: &str, count: u32) -> String {
    if count == 1 { text.to_owned() } else { format!("{text} {count} times") }
}

/// How a number goes with an operation.
#[derive(Clone, Copy)]
enum Form {
    /// Within the text, at `{n}`, `{sts}` or `{place}`.
    Counted,
    /// Behind it: `k2tog 3 times`.
    Tight,
    /// Behind brackets, because the text followed by a number would mean something else: "yo 2 times" is one
    /// yarn over wound twice in many books.
    Apart,
}

struct Entry {
    op: Op,
    key: &'static str,
    uk_key: &'static str,
    us: &'static str,
    uk: &'static str,
    form: Form,
    meaning: &'static str,
    needs: &'static [&'static str],
}

const fn counted(op: Op, key: &'static str, text: &'static str, meaning: &'static str) -> Entry {
    Entry { op, key, uk_key: key, us: text, uk: text, form: Form::Counted, meaning, needs: &[] }
}

const fn named(op: Op, text: &'static str, meaning: &'static str) -> Entry {
    Entry { op, key: text, uk_key: text, us: text, uk: text, form: Form::Tight, meaning, needs: &[] }
}

impl Entry {
    const fn needs(mut self, needs: &'static [&'static str]) -> Entry {
        self.needs = needs;
        self
    }

    const fn uk(mut self, key: &'static str, text: &'static str) -> Entry {
        self.uk_key = key;
        self.uk = text;
        self
    }

    const fn apart(mut self) -> Entry {
        self.form = Form::Apart;
        self
    }
}

fn entry(op: Op) -> &'static Entry {
    static UNNAMED: Entry = named(Op::Turn, "", "");
    // Every named operation has an entry (tested); a crossing never comes here.
    OPS.iter().find(|entry| entry.op == op).unwrap_or(&UNNAMED)
}

/// Words that explanations and rows use.
const WORDS: &[(&str, &str)] = &[
    ("cn", "cable needle"),
    ("kwise", "as if to knit"),
    ("psso", "pass the slipped st over"),
    ("RS", "right side of the work"),
    ("st(s)", "stitch(es)"),
    ("tbl", "through the back loop, which turns the st about itself"),
    ("WS", "wrong side of the work"),
    ("wyib", "with the yarn behind the st, away from you"),
    ("wyif", "with the yarn in front of the st, towards you"),
];

static OPS: &[Entry] = &[
    counted(Op::K, "k", "k{n}", "knit"),
    counted(Op::P, "p", "p{n}", "purl"),
    counted(Op::Ktbl, "k tbl", "k{n} tbl", "knit tbl").needs(&["tbl"]),
    counted(Op::Ptbl, "p tbl", "p{n} tbl", "purl tbl").needs(&["tbl"]),
    counted(Op::Slk, "sl kwise", "sl {n} kwise", "slip kwise").needs(&["kwise"]),
    counted(Op::Slp, "sl", "sl {n}", "slip as if to purl, leaving the yarn where it is"),
    counted(Op::SlWyif, "sl wyif", "sl {n} wyif", "slip as if to purl, wyif").needs(&["wyif"]),
    counted(Op::SlWyib, "sl wyib", "sl {n} wyib", "slip as if to purl, wyib").needs(&["wyib"]),
    named(Op::Yo, "yo", "yarn over: lay the yarn over the right needle, which makes a st and a hole").apart(),
    named(Op::Yo2, "yo2", "yarn over wound twice round the needle, which makes 2 loops"),
    named(Op::Yo3, "yo3", "yarn over wound 3 times round the needle, which makes 3 loops"),
    named(Op::SlYo, "sl1yo", "slip 1 as if to purl and lay the yarn over it; both together count as 1 st"),
    named(Op::Brk, "brk", "knit together a slipped st and the yarn that lies over it"),
    named(Op::Brp, "brp", "purl together a slipped st and the yarn that lies over it"),
    named(Op::M1, "m1", "make 1: lift the strand before the next st with the left needle and knit it tbl")
        .needs(&["tbl"]),
    named(Op::Kfb, "kfb", "knit into the front and then the back of the same st"),
    named(Op::Pfb, "pfb", "purl into the front and then the back of the same st"),
    counted(Op::K1P1, "k1-p1 in next st", "k1-p1 in {place}", "knit 1 and purl 1, both into the same st"),
    counted(Op::P1K1, "p1-k1 in next st", "p1-k1 in {place}", "purl 1 and knit 1, both into the same st"),
    counted(
        Op::Kyok,
        "k1-yo-k1 in next st",
        "k1-yo-k1 in {place}",
        "knit 1, yarn over, knit 1, all into the same st",
    ),
    counted(
        Op::K1P1K1,
        "k1-p1-k1 in next st",
        "k1-p1-k1 in {place}",
        "knit 1, purl 1, knit 1, all into the same st",
    ),
    counted(
        Op::K1P1K1P1,
        "k1-p1-k1-p1 in next st",
        "k1-p1-k1-p1 in {place}",
        "knit 1 and purl 1, twice over, all into the same st",
    ),
    counted(
        Op::K1P1K1P1K1,
        "k1-p1-k1-p1-k1 in next st",
        "k1-p1-k1-p1-k1 in {place}",
        "knit 1 and purl 1, twice over, and knit 1 more, all into the same st",
    ),
    named(Op::K2tog, "k2tog", "knit 2 together"),
    named(Op::Skp, "skp", "slip 1 kwise, knit 1, psso").uk("skpo", "skpo").needs(&["kwise", "psso"]),
    named(Op::Ssk, "ssk", "slip 2 kwise one after the other, then knit them together through their backs")
        .needs(&["kwise"]),
    named(Op::K2togTbl, "k2tog tbl", "knit 2 together tbl").needs(&["tbl"]),
    named(Op::P2tog, "p2tog", "purl 2 together"),
    named(Op::P2togTbl, "p2tog tbl", "purl 2 together tbl").needs(&["tbl"]),
    named(
        Op::Ssp,
        "ssp",
        "slip 2 kwise one after the other, put them back, then purl them together through their backs",
    )
    .needs(&["kwise"]),
    named(Op::Spp, "spp", "slip 1, purl 1, psso").uk("sppo", "sppo").needs(&["psso"]),
    named(Op::K3tog, "k3tog", "knit 3 together"),
    named(Op::K3togTbl, "k3tog tbl", "knit 3 together tbl").needs(&["tbl"]),
    named(Op::P3tog, "p3tog", "purl 3 together"),
    named(Op::P3togTbl, "p3tog tbl", "purl 3 together tbl").needs(&["tbl"]),
    named(Op::Sk2p, "sk2p", "slip 1 kwise, knit 2 together, psso")
        .uk("sk2po", "sk2po")
        .needs(&["kwise", "psso"]),
    named(Op::S2kp, "s2kp", "slip 2 together kwise, knit 1, pass both slipped sts over")
        .uk("s2kpo", "s2kpo")
        .needs(&["kwise"]),
    named(Op::Sp2p, "sp2p", "slip 1, purl 2 together, psso").uk("sp2po", "sp2po").needs(&["psso"]),
    named(Op::S1k2po, "s1k2po", "slip 1 kwise, knit 2, psso both, which leaves 2 sts")
        .needs(&["kwise", "psso"]),
    named(Op::K4tog, "k4tog", "knit 4 together"),
    named(Op::P4tog, "p4tog", "purl 4 together"),
    named(Op::K5tog, "k5tog", "knit 5 together"),
    named(Op::P5tog, "p5tog", "purl 5 together"),
    counted(
        Op::Bo,
        "bind off",
        "bind off {sts}",
        "work 2 sts and pass the first over the second, then work 1 more each time; \
         the st left on the right needle is the first of those named next",
    )
    .uk("cast off", "cast off {sts}"),
    counted(Op::Co, "cast on", "cast on {sts}", "make new sts on the right needle"),
    counted(
        Op::Pu,
        "pick up and knit",
        "pick up and knit {sts}",
        "draw the yarn through the edge as a new st",
    ),
    counted(Op::Drop, "drop", "drop {sts}", "let the st or loop fall from the left needle unworked"),
    counted(
        Op::Hold,
        "place on holder",
        "place {sts} on holder",
        "slip as if to purl on to a spare needle or thread",
    ),
    counted(
        Op::Take,
        "knit from holder",
        "knit {sts} from holder",
        "knit the sts that wait, first come first",
    ),
    named(Op::Turn, "turn", "turn the work, with the sts still on the left needle unworked"),
];

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    const BOTH: [Terms; 2] = [Terms::Us, Terms::Uk];

    #[test]
    fn every_operation_has_its_own_text_and_explanation() {
        assert_eq!(OPS.len(), Op::NAMED.len());
        for terms in BOTH {
            let mut texts = HashSet::new();
            for &op in Op::NAMED {
                assert_eq!(entry(op).op, op);
                assert!(!meaning(op).is_empty());
                for count in [1, 2, 3, 12] {
                    let text = terms.run(Run { op, count });
                    assert!(!text.contains([',', ';', '*', '{', '.']), "{text}");
                    assert!(texts.insert(text.clone()), "two runs are worded {text}");
                }
            }
        }
    }

    #[test]
    fn what_an_explanation_needs_is_explained_and_nothing_else_is_used() {
        for &op in Op::NAMED {
            let text = format!("{} {}", Terms::Us.run(Run { op, count: 1 }), meaning(op));
            let used = |abbr: &str| text.split(|c: char| !c.is_alphanumeric()).any(|word| word == abbr);
            for abbr in ["cn", "kwise", "psso", "tbl", "wyib", "wyif"] {
                assert_eq!(used(abbr), needs(op).contains(&abbr), "{abbr} in {text}");
            }
            assert!(needs(op).iter().all(|abbr| word_meaning(abbr).is_some()));
        }
    }

    #[test]
    fn words_of_both_countries() {
        let pairs = [
            (Word::BindOff, "bind off", "cast off"),
            (Word::Gauge, "gauge", "tension"),
            (Word::Stockinette, "stockinette stitch", "stocking stitch"),
            (Word::SeedStitch, "seed stitch", "moss stitch"),
        ];
        for (word, us, uk) in pairs {
            assert_eq!(BOTH.map(|terms| terms.word(word)), [us, uk]);
        }
    }
}
