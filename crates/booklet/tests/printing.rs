//! Whole booklets, from data to PDF.

use std::io::Read;

use booklet::{
    Abbreviation, Booklet, BookletError, Date, Drawing, Edition, Key, KeyEntry, Material, Measure, Note,
    NoteKind, PageSize, PieceText, RowText, Side, Source, page_count, pdf,
};

mod specimen;

const HOSTILE: &[&str] = &[
    "#let x = 1; #x",
    "$x^2$ `code` *bold* _it_ <label> @ref = heading",
    "\\ \\\\ \" ' \" }] ([{ // comment /* open",
    "{\"json\": [1, \"}\"]} \\u0000 \\n",
    "nul \0 bell \u{7} escape \u{1b}[0m delete \u{7f} c1 \u{9b}",
    "turned \u{202e}around\u{202c} \u{feff}\u{200b}\u{ad}\u{200d}",
    "private \u{e000} and \u{10fffd}, last \u{10ffff}, \u{fffe}\u{ffff}",
    "🧶 ☃ 編み物 नमस्ते עברית العربية ก็",
    "e\u{301}\u{302}\u{303} stacked \u{489}",
    "— – ½ ¾ ſ ʃ æ œ £ × · … “ ” ‘ ’ † ‡ § ¶ ☞ ° ′ ″ ﬁ ﬂ ǆ",
    "\r\n\t\u{b}\u{c}\u{85}\u{2028}\u{2029}",
    "",
    "   ",
];

fn titled(title: &str) -> Edition {
    Edition { title: title.into(), ..Edition::default() }
}

/// An edition with the same text in every field, and with every list filled.
fn filled(text: &str) -> Edition {
    let own = || text.to_owned();
    let some = || Some(text.to_owned());
    let drawing = || Drawing { svg: svg(40, 30), alt: own(), caption: some() };
    Edition {
        title: format!("T {text}"),
        subtitle: some(),
        picture: Some(drawing()),
        date: Some(Date { year: 2026, month: 2, day: 28 }),
        page_size: PageSize::A5,
        source: Source {
            author: some(),
            title: some(),
            place: some(),
            publisher: some(),
            year: some(),
            page: some(),
            identifier: some(),
        },
        intro: vec![own(), own()],
        materials: vec![
            Material { printed: some(), today: some() },
            Material { printed: some(), today: None },
            Material::default(),
        ],
        measures: vec![Measure { name: own(), value: own() }],
        abbreviations: vec![Abbreviation { short: own(), meaning: own() }],
        pieces: vec![
            PieceText {
                name: some(),
                cast_on: some(),
                rows: vec![
                    RowText {
                        label: own(),
                        side: Some(Side::Wrong),
                        text: own(),
                        count: some(),
                        notes: vec![0, 99],
                    },
                    RowText::default(),
                ],
                remarks: vec![own()],
                cloth: Some(drawing()),
                charts: vec![drawing(), drawing()],
                key: Key {
                    drawing: Some(drawing()),
                    entries: vec![
                        KeyEntry { symbol: own(), svg: None, meaning: own() },
                        KeyEntry { symbol: own(), svg: Some(svg(9, 9)), meaning: own() },
                    ],
                },
            },
            PieceText::default(),
        ],
        schematic: Some(drawing()),
        making_up: vec![own(), own()],
        cautions: vec![own()],
        notes: [NoteKind::Correction, NoteKind::Choice, NoteKind::Unread, NoteKind::Fault]
            .map(|kind| Note { kind, row: own(), printed: some(), reading: some(), why: own() })
            .into(),
        original_text: Some(format!("{text}\n   {text}\n\n{text}")),
        rights: vec![own()],
        colophon: some(),
    }
}

fn svg(width: u32, height: u32) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{width}' height='{height}' \
         viewBox='0 0 {width} {height}'><path d='M0 0H{width}V{height}Z'/></svg>"
    )
}

/// A picture of a cloth that holds pixels is printed, under its heading and with its caption.
#[test]
fn the_cloth_is_shown_with_its_size() {
    // One grey pixel as PNG.
    let pixel =
        "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR42mNoAAAAggCB2kUIOwAAAABJRU5ErkJggg==";
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' xmlns:xlink='http://www.w3.org/1999/xlink' width='90' height='60'>\
         <image width='90' height='60' xlink:href='data:image/png;base64,{pixel}'/></svg>"
    );
    let cloth = Drawing { svg, alt: "the cloth".into(), caption: Some("About 12 cm wide".into()) };
    let piece = PieceText { cloth: Some(cloth), ..PieceText::default() };
    let text = squeezed(&readable(&pdf(&Edition { pieces: vec![piece], ..titled("A") }).unwrap()));
    assert!(text.contains("/Subtype/Image"), "the pixels are in the file");
    let bare =
        squeezed(&readable(&pdf(&Edition { pieces: vec![PieceText::default()], ..titled("A") }).unwrap()));
    assert!(!bare.contains("/Subtype/Image"));
}

fn with_chart(svg: &str) -> Edition {
    let chart = Drawing { svg: svg.into(), alt: "a chart".into(), caption: None };
    let piece = PieceText { name: Some("Border".into()), charts: vec![chart], ..PieceText::default() };
    Edition { pieces: vec![piece], ..titled("A") }
}

/// All of a PDF that can be searched: the file with its compressed streams unpacked after it.
fn readable(pdf: &[u8]) -> String {
    let mut out = String::from_utf8_lossy(pdf).into_owned();
    let mut rest = pdf;
    while let Some(start) = find(rest, b"stream\n") {
        rest = &rest[start + 7..];
        let end = find(rest, b"endstream").unwrap_or(rest.len());
        let mut text = Vec::new();
        if flate2::read::ZlibDecoder::new(&rest[..end]).read_to_end(&mut text).is_ok() {
            out.push_str(&String::from_utf8_lossy(&text));
        }
        rest = &rest[end..];
    }
    out
}

fn find(bytes: &[u8], needle: &[u8]) -> Option<usize> {
    bytes.windows(needle.len()).position(|window| window == needle)
}

/// Without blanks, which a PDF may have or not have between its words.
fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

#[test]
fn the_specimen_is_a_tagged_titled_archivable_pdf() {
    let bytes = pdf(&specimen::edition()).unwrap();
    assert!(bytes.starts_with(b"%PDF-1.7"));
    let text = squeezed(&readable(&bytes));
    for wanted in [
        "/StructTreeRoot",
        "/MarkInfo",
        "/Marked true",
        "/DisplayDocTitle true",
        "/Lang(en-GB)",
        "(A Carriage Rug in Squares)",
        "<dc:title>",
        "<pdfuaid:part>1</pdfuaid:part>",
        "<pdfaid:part>2</pdfaid:part>",
        "<pdfaid:conformance>A</pdfaid:conformance>",
        "/S/Figure",
        "/S/TH",
        "/Scope/Row",
        "/S/H1",
        "Chart of the square, 22 stitches by 40 rows; written out above.",
    ] {
        assert!(text.contains(&squeezed(wanted)), "{wanted}");
    }
}

#[test]
fn the_same_edition_gives_the_same_bytes() {
    let first = pdf(&specimen::edition()).unwrap();
    let other = pdf(&titled("Another")).unwrap();
    assert!(first == pdf(&specimen::edition()).unwrap(), "two runs differ");
    assert_ne!(first, other);
}

#[test]
fn an_edition_survives_json() {
    let edition = specimen::edition();
    let json = serde_json::to_string(&edition).unwrap();
    assert_eq!(serde_json::from_str::<Edition>(&json).unwrap(), edition);
    assert_eq!(serde_json::from_str::<Edition>(r#"{"title":"A"}"#).unwrap(), titled("A"));
}

#[test]
fn a_title_alone_makes_one_page() {
    let booklet = Booklet::new(&titled("A Rug")).unwrap();
    assert_eq!(booklet.page_count(), 1);
    assert!(booklet.pdf().unwrap().starts_with(b"%PDF"));
}

#[test]
fn every_page_size_holds_the_specimen() {
    let pages = |page_size| page_count(&Edition { page_size, ..specimen::edition() }).unwrap();
    let (small, large, letter) = (pages(PageSize::A5), pages(PageSize::A4), pages(PageSize::Letter));
    assert!(large < small && letter < small, "{small} {large} {letter}");
}

#[test]
fn hostile_text_is_printed_as_text() {
    for text in HOSTILE {
        let bytes = pdf(&filled(text)).unwrap_or_else(|error| panic!("{text:?}: {error}"));
        assert!(bytes.starts_with(b"%PDF"), "{text:?}");
    }
}

#[test]
fn long_text_breaks_over_pages() {
    let long = "knit two together and ".repeat(100);
    assert!(page_count(&filled(&long)).unwrap() > 30);
    let unbroken = "k".repeat(500);
    assert!(pdf(&filled(&unbroken)).is_ok());
}

#[test]
fn a_long_row_loses_nothing() {
    let row = |words: usize| {
        let text = "knit two together and ".repeat(words);
        let rows = vec![RowText { label: "Row 1".into(), text, ..RowText::default() }];
        Edition { pieces: vec![PieceText { rows, ..PieceText::default() }], ..titled("A") }
    };
    assert!(page_count(&row(800)).unwrap() > page_count(&row(200)).unwrap() + 5);
}

#[test]
fn a_bad_drawing_is_named() {
    let cases = [
        ("", "an empty file"),
        ("<svg", "a broken tag"),
        ("no drawing at all", "plain text"),
        ("<html xmlns='http://www.w3.org/1999/xhtml'/>", "another language"),
        ("<svg xmlns='http://www.w3.org/2000/svg' width='0' height='0'/>", "no size"),
        (
            "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><text>\u{1}</text></svg>",
            "a control",
        ),
        (
            "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><image href='/etc/hostname' \
             width='9' height='9'/></svg>",
            "a file of the machine",
        ),
        (
            "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><image href='x.png' \
             width='9' height='9'/></svg>",
            "a file beside it",
        ),
    ];
    for (svg, what) in cases {
        let error = pdf(&with_chart(svg)).expect_err(what);
        let BookletError::Drawing { name, reason } = &error else { panic!("{what}: {error:?}") };
        assert_eq!(name, "chart 1 of “Border”", "{what}");
        assert!(!reason.is_empty(), "{what}");
    }
}

#[test]
fn deeply_nested_drawings_do_not_exhaust_the_stack() {
    let document = |body: &str| {
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'>{body}<path d='M0 0H5V5Z'/></svg>"
        )
    };
    let nested = |open: &str, levels: usize| {
        document(&(open.repeat(levels) + "<path d='M0 0H5V5Z'/>" + &"</g>".repeat(levels)))
    };
    let long_links = |links: usize| -> String {
        let link = |at: usize| {
            let (open, close) = ("<g opacity='.9'>".repeat(36), "</g>".repeat(36));
            format!("<g id='a{at}'>{open}<use href='#a{}'/>{close}</g>", at + 1)
        };
        document(&(0..links).map(link).collect::<String>())
    };
    for svg in [nested("<g opacity='.9'>", 38), long_links(8)] {
        assert!(pdf(&with_chart(&svg)).is_ok(), "within the limits");
    }
    for svg in [nested("<g>", 100_000), nested("<g opacity='.9'>", 1_000), long_links(1_000)] {
        assert!(matches!(pdf(&with_chart(&svg)), Err(BookletError::Drawing { .. })), "beyond the limits");
    }
}

#[test]
fn text_in_drawings_needs_no_face_of_the_machine() {
    let text = |text: &str| {
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='90' height='20'>\
             <text x='2' y='14' font-family='sans-serif' font-size='10'>{text}</text></svg>"
        )
    };
    assert!(pdf(&with_chart(&text("row 3 — ½"))).is_ok());
    assert!(pdf(&with_chart(&text("wool 🧶"))).is_ok(), "shown as a missing character");
    assert!(matches!(pdf(&with_chart(&text("wool &#x1F9F6;"))), Err(BookletError::Export(_))));
}

#[test]
fn drawings_of_any_shape_fit() {
    for (width, height) in [(1, 1), (4_000, 40), (40, 4_000), (9_000, 9_000), (300, 200)] {
        let pages = page_count(&with_chart(&svg(width, height))).unwrap();
        assert!(pages <= 3, "{width} by {height}: {pages} pages");
    }
}

#[test]
fn a_wide_chart_has_a_page_of_its_own_turned_sideways() {
    let boxes =
        |width, height| readable(&pdf(&with_chart(&svg(width, height))).unwrap()).contains("[0 0 595.2");
    assert!(boxes(1_200, 100), "turned");
    assert!(!boxes(300, 200), "upright");
}

#[test]
fn a_day_that_never_was_is_refused() {
    let date = Date { year: 2026, month: 2, day: 30 };
    let error = pdf(&Edition { date: Some(date), ..titled("A") }).expect_err("was taken");
    assert_eq!(error, BookletError::Date(date));
    assert_eq!(error.to_string(), "there is no day 2026-02-30");
}
