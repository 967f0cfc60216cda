//! A specimen edition: a carriage rug square from a part-work of 1858 that never was.
//!
//! The square grows from a corner by one stitch a row to 22, and goes back again, so that the counts are right.

use booklet::{
    Abbreviation, Drawing, Edition, Key, KeyEntry, Material, Measure, Note, NoteKind, PieceText, RowText,
    Side, Source,
};

fn strings(list: &[&str]) -> Vec<String> {
    list.iter().map(|&text| text.to_owned()).collect()
}

fn some(text: &str) -> Option<String> {
    Some(text.to_owned())
}

/// The whole edition.
pub fn edition() -> Edition {
    Edition {
        title: "A Carriage Rug in Squares".into(),
        subtitle: some("with a leaf in the middle of each, and a border of points"),
        picture: Some(Drawing {
            svg: sampler(9),
            alt: "Four squares laid with their corners together, each parted by a diagonal ridge.".into(),
            caption: None,
        }),
        source: Source {
            author: some("Mrs. Hester Aldous"),
            title: some("The Parlour Needle, or Penny Instructor"),
            place: some("Norwich"),
            publisher: some("J. Fenn & Daughters"),
            year: some("1858"),
            page: some("part 7, pp. 101–103"),
            identifier: some("private copy, lacking the wrapper"),
        },
        intro: strings(INTRO),
        materials: materials(),
        measures: vec![
            measure(
                "Gauge",
                "20 stitches and 40 rows to 10 cm (4 in.) in garter stitch, washed, on 4 mm needles",
            ),
            measure("One square", "11 cm (4¼ in.) along each side"),
            measure("The rug", "8 squares by 12, about 90 by 135 cm (35½ by 53 in.) without the border"),
            measure("Yarn needed", "about 1,150 m of the dark shade and 640 m of the light one"),
        ],
        abbreviations: abbreviations(),
        pieces: vec![square(), border()],
        making_up: strings(MAKING_UP),
        cautions: strings(CAUTIONS),
        notes: notes(),
        original_text: some(ORIGINAL),
        rights: strings(RIGHTS),
        colophon: some("Set in Libertinus Serif and EB Garamond. First edition of this revival."),
        ..Edition::default()
    }
}

fn materials() -> Vec<Material> {
    let pair = |printed: &str, today: &str| Material { printed: some(printed), today: some(today) };
    vec![
        pair(
            "Twelve ounces of six-thread fleecy, clouded crimson; and seven of white.",
            "Worsted-weight wool, about 200 m to 100 g: 600 g of a dark shade, 350 g of a light one.",
        ),
        pair("Pins No. 8, bell gauge.", "A pair of 4 mm needles (old UK 8, US 6)."),
        pair("A rug needle.", "A blunt tapestry needle."),
        Material { printed: None, today: some("Two stitch markers.") },
    ]
}

fn measure(name: &str, value: &str) -> Measure {
    Measure { name: name.into(), value: value.into() }
}

fn abbreviations() -> Vec<Abbreviation> {
    [
        ("k", "knit"),
        ("p", "purl"),
        ("yo", "yarn over: bring the yarn to the front and take it over the needle"),
        ("k2tog", "knit 2 together"),
        (
            "sl 1, k2tog, psso",
            "slip 1 knitwise, knit 2 together, pass the slipped stitch over: 2 stitches fewer",
        ),
        ("tbl", "through the back of the loop"),
    ]
    .map(|(short, meaning)| Abbreviation { short: short.into(), meaning: meaning.into() })
    .into()
}

fn square() -> PieceText {
    let rows = (1..=40).map(square_row).collect();
    PieceText {
        name: some("The square"),
        cast_on: some("With the dark shade, cast on 2 stitches. The first row is a right-side row."),
        rows,
        remarks: strings(&[
            "Fasten off by drawing the thread through the last 2 stitches. All the squares are alike; the leaf \
             should lie with its stalk in the corner where you cast on.",
        ]),
        cloth: None,
        charts: vec![Drawing {
            svg: chart(22, 40, 11),
            alt: "Chart of the square, 22 stitches by 40 rows; written out above.".into(),
            caption: some("The square. Right-side rows are read from right to left."),
        }],
        key: Key { drawing: None, entries: key() },
    }
}

fn square_row(row: usize) -> RowText {
    let count = if row <= 20 { row + 2 } else { 42 - row };
    let wrong = row.is_multiple_of(2);
    let text = match row {
        11 => "K1, yo, * k2tog, yo; repeat from * 3 times more, k2tog, k1, yo, k1: the line of holes that \
               divides the leaf from the ground, and which must fall exactly over the holes of the square \
               before it when the two are sewn together."
            .to_owned(),
        12 => "K1, yo, p to the last stitch, k1.".to_owned(),
        27 => {
            "K2tog, k4, sl 1, k2tog, psso, yo twice, k to the end, working k1 and k1 tbl into the double yo \
               when you come back to it."
                .to_owned()
        }
        _ if row <= 20 && wrong => format!("K1, yo, p{}, k1.", row - 1),
        _ if row <= 20 => format!("K1, yo, k{row}."),
        _ if wrong => "K2tog, p to the last stitch, k1.".to_owned(),
        _ => "K2tog, k to the end.".to_owned(),
    };
    let notes = match row {
        11 => vec![1],
        14 => vec![0],
        27 => vec![2, 3],
        _ => vec![],
    };
    let side = Some(if wrong { Side::Wrong } else { Side::Right });
    RowText { label: format!("Row {row}"), side, text, count: Some(count.to_string()), notes }
}

fn key() -> Vec<KeyEntry> {
    let entry = |mark: &str, meaning: &str| KeyEntry {
        symbol: String::new(),
        svg: Some(format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='14' height='14' viewBox='0 0 14 14'>\
             <rect x='.5' y='.5' width='13' height='13' fill='white' stroke='#888'/>{mark}</svg>"
        )),
        meaning: meaning.into(),
    };
    vec![
        entry("", "knit on the right side, purl on the wrong side"),
        entry("<circle cx='7' cy='7' r='1.6'/>", "purl on the right side, knit on the wrong side"),
        entry("<circle cx='7' cy='7' r='3.6' fill='none' stroke='black'/>", "yarn over"),
        entry("<path d='M3 11 11 3' stroke='black' fill='none'/>", "knit 2 together"),
        KeyEntry { symbol: "◦".into(), svg: None, meaning: "no stitch".into() },
    ]
}

fn border() -> PieceText {
    let row = |label: &str, text: &str, count: Option<&str>| RowText {
        label: label.into(),
        text: text.into(),
        count: count.map(str::to_owned),
        ..RowText::default()
    };
    PieceText {
        name: some("The border of points"),
        cast_on: some("With the light shade, cast on 6 stitches and knit 1 row."),
        rows: vec![
            row("Rows 1, 3, 5 and 7", "Sl 1, k2, yo, k to the end.", Some("7, 8, 9, 10")),
            row("Rows 2, 4 and 6", "Knit.", None),
            row("Row 8", "Cast off 4, k to the end.", Some("6")),
            row(
                "",
                "Repeat rows 1 to 8 until the border reaches round the rug, with 2 points more for each corner.",
                None,
            ),
        ],
        remarks: vec![],
        cloth: None,
        charts: vec![Drawing {
            svg: chart(64, 8, 0),
            alt: "Chart of eight points of the border, 64 stitches by 8 rows; written out above.".into(),
            caption: some("Eight points of the border, laid end to end"),
        }],
        key: Key::default(),
    }
}

fn notes() -> Vec<Note> {
    let note = |kind, row: &str, printed: &str, reading: Option<&str>, why: &str| Note {
        kind,
        row: row.into(),
        printed: some(printed),
        reading: reading.map(str::to_owned),
        why: why.into(),
    };
    vec![
        note(
            NoteKind::Correction,
            "Row 14",
            "Knit 1, make 1, pearl 15, knit 1.",
            Some("k1, yo, p13, k1"),
            "Row 13 leaves 15 stitches. Purling 15 between two edge stitches would need 17; with 13 the row \
             ends with the 16 that row 15 counts on. The figure 3 in this part is often broken and looks like a 5.",
        ),
        note(
            NoteKind::Choice,
            "Row 11",
            "* knit 2 together, make 1, repeat 4 times",
            Some("worked 4 times in all, then once more without the make 1"),
            "“Repeat 4 times” may mean four in all or four more. Only the first leaves 13 stitches; the same \
             words in row 5 of the cushion on p. 99 are plainly meant so.",
        ),
        note(
            NoteKind::Correction,
            "Row 27",
            "ſlip 1, knit 2 together, paſs the ſlipped ſtitch over, make 1",
            Some("sl 1, k2tog, psso, yo twice"),
            "One make leaves the row a stitch short.",
        ),
        note(
            NoteKind::Unread,
            "Row 27",
            "“in the manner of the Spanish heel”",
            None,
            "No such manner was found. The row is complete without it.",
        ),
        Note {
            kind: NoteKind::Fault,
            row: "Border".into(),
            printed: some("allow 1 point for each corner"),
            reading: None,
            why: "One point is too tight to lie flat; we print the words and advise two.".into(),
        },
    ]
}

/// A chart of so many squares, numbered at both sides, with holes along one row.
fn chart(columns: usize, rows: usize, holes: usize) -> String {
    const CELL: usize = 14;
    let (width, height) = ((columns + 4) * CELL, (rows + 1) * CELL);
    let mut svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{width}' height='{height}' \
         viewBox='0 0 {width} {height}' font-family='Libertinus Serif' font-size='9'>"
    );
    for row in 1..=rows {
        let y = (rows - row) * CELL;
        for column in 0..columns {
            let x = (column + 2) * CELL;
            svg += &format!(
                "<rect x='{x}' y='{y}' width='{CELL}' height='{CELL}' fill='white' stroke='#777' stroke-width='.5'/>"
            );
            let (cx, cy) = (x + CELL / 2, y + CELL / 2);
            if row == holes && !column.is_multiple_of(2) {
                svg += &format!("<circle cx='{cx}' cy='{cy}' r='3.6' fill='none' stroke='black'/>");
            } else if (column + row).is_multiple_of(11) {
                svg += &format!("<circle cx='{cx}' cy='{cy}' r='1.5'/>");
            }
        }
        let x = if !row.is_multiple_of(2) { (columns + 2) * CELL + 4 } else { 12 };
        svg += &format!("<text x='{x}' y='{}'>{row}</text>", y + 11);
    }
    svg + "</svg>"
}

/// Four squares of slanting lines.
fn sampler(lines: usize) -> String {
    let mut svg =
        "<svg xmlns='http://www.w3.org/2000/svg' width='220' height='220' viewBox='-110 -110 220 220' \
                   fill='none' stroke='#6b2430' stroke-width='1.1'>"
            .to_owned();
    for turn in [0, 90, 180, 270] {
        svg += &format!("<g transform='rotate({turn})'><rect x='3' y='3' width='100' height='100'/>");
        for line in 1..=lines {
            let at = 3 + line * 100 / (lines + 1);
            svg += &format!("<path d='M3 {at} {at} 3 M{at} 103 103 {at}' stroke-width='.7'/>");
        }
        svg += "<path d='M14 14 Q58 34 60 60 Q34 58 14 14Z' fill='#6b2430' fill-opacity='.18'/></g>";
    }
    svg + "</svg>"
}

const INTRO: &[&str] = &[
    "The part-works of the eighteen-fifties cost a penny and came through the door with the milk. What they \
     taught was often good and seldom well printed: the compositor who set this square had three sorts of \
     fraction, no asterisk, and a figure 3 so worn that it passes for a 5 in half of its places.",
    "The rug itself is sound. Each square is worked from corner to corner in a shade of crimson, with a raised \
     leaf whose stalk starts in the corner where you cast on; four squares turned to one point make a flower of \
     four leaves, and the eye reads the flower before it reads the square. Mrs. Aldous calls it \"proper for \
     travelling, or for an invalid's chair\".",
    "We have kept her order of working and the number of her stitches. Where her figures don't come out, the \
     correction and its evidence stand in the notes; nothing else was changed but the words.",
];

const MAKING_UP: &[&str] = &[
    "Wash the squares, pull each one to 11 cm along all four sides, and pin it down until it is dry.",
    "Lay them out four by four, the stalks of the leaves together in the middle of each flower.",
    "Sew the squares together from the right side, taking the outer half of each edge stitch: first the flowers, \
     then the rows of flowers, then the rows to each other.",
    "Sew the border on with its straight edge to the rug, easing 2 points round each corner.",
];

const CAUTIONS: &[&str] = &[
    "Wool shrinks: wash by hand at 30 °C or cooler, and dry flat.",
    "For awake time only: not for a sleeping baby. Local codes prevail.",
    "Keep away from fire.",
    "Count your pins.",
];

const RIGHTS: &[&str] = &[
    "The old text was published in 1858. Under the rule of 95 years from publication it has been free in the \
     United States since 1 January 1954; where the rule is 70 years from the author's death, it depends on a year \
     we have not found. This is a rule of thumb and no legal advice: check local law.",
    "The wording, charts and notes of this edition are by its editor.",
];

const ORIGINAL: &str = "          CARRIAGE RUG, IN SQUARES.
   _Materials._—12 oz. of 6-thread fleecy, clouded crimson; 7 oz. white. Pins No. 8, bell gauge.

Caſt on 2 ſtitches.
1st row.—Knit 1, make 1, knit 1.
2nd.—Knit 1, make 1, pearl 1, knit 1.
3rd.—Knit 1, make 1, knit to the end. Continue thus, a row of knitting and a row of pearling, making 1 at \
the beginning of each, till you have 12 ſtitches.
11th.—Knit 1, make 1, * knit 2 together, make 1, repeat 4 times; knit 2 together, knit 1, make 1, knit 1.
12th.—Knit 1, make 1, pearl to within 1, knit 1.
13th.—As 3rd.
14th.—Knit 1, make 1, pearl 15, knit 1.

     [Here follows an engraving, 3½ in. by 3½ in.]

27th.—Take 2 together, knit 4, ſlip 1, knit 2 together, paſs the ſlipped ſtitch over, make 1, and knit to \
the end, in the manner of the Spanish heel.
#let x = \"not a command\" \\ $a_1 * b$ @nobody <none> // no comment
40th.—Draw the thread through.

   _Border._—Caſt on 6; * make 1 each row till 10; caſt off 4; repeat from *. Allow 1 point for each corner.";
