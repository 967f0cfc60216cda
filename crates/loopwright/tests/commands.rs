//! The commands on good input: what they print and which files they leave.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;
#[path = "common/slipped.rs"]
mod slipped;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use common::{PATTERN, run, run_with};
use serde_json::Value;
use slipped::{LACE, SLIPPED};

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo/carriage-rug.txt")
}

fn folder_with(files: &[(&str, &[u8])]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

#[test]
fn reading_shows_the_rows_with_their_counts() {
    let run = run_with(Path::new("."), PATTERN.as_bytes(), &["read", "-"]);
    assert_eq!((run.code, run.stderr.as_str()), (Some(0), ""));
    assert!(
        run.stdout
            .starts_with("Cast on 12 sts.\n  1 RS  12 → 12  K3, yo, k2tog, k7\n  2 WS  12 → 12  Purl\n"),
        "{}",
        run.stdout
    );
    assert!(run.stdout.contains("2 rows in 1 piece, no faults"), "{}", run.stdout);
    assert!(!run.stdout.contains('\x1b'), "colours where there is no terminal");
}

#[test]
fn a_row_that_does_not_come_out_is_shown_with_its_text() {
    let text = "Cast on 12 stitches.\n\n1st row.--Knit.\n\n2nd row.--Pearl 9, knit 8.\n";
    let run = run_with(Path::new("."), text.as_bytes(), &["read", "-"]);
    assert_eq!(run.code, Some(0));
    assert!(run.stdout.contains("standard input:5:"), "{}", run.stdout);
    assert!(
        run.stdout.contains("fault: Row 2 takes 17 stitches, and only 12 are on the needle"),
        "{}",
        run.stdout
    );
    assert!(run.stdout.contains("^^^^"), "{}", run.stdout);
}

#[test]
fn a_choice_is_followed_and_said_to_be_chosen() {
    let folder = folder_with(&[(
        "page.txt",
        b"Cast on 9 stitches.\n\n1st row.--P 3, K 3, P 3.\n\n2nd row.--K 3, P 3, K 3.\n",
    )]);
    let ops = |answer: &str| {
        let run = run(folder.path(), &["read", "page.txt", "--json", "--choose", answer]);
        let json: Value = serde_json::from_str(&run.stdout).unwrap();
        let term = json["notation"].as_array().unwrap().iter().find(|term| term["term"] == "P").cloned();
        (json["pieces"][0]["rows"][0]["ops"].as_str().unwrap().to_owned(), term.unwrap()["from"].clone())
    };
    assert_eq!(ops("P=purl"), ("p*3 k*3 p*3".to_owned(), "chosen".into()));
    assert_eq!(ops("P=plain"), ("k*9".to_owned(), "chosen".into()));
}

#[test]
fn senses_of_a_file_outrank_the_built_in_ones() {
    let senses = b"[[sense]]\nid = \"our-make\"\nop = \"kfb\"\nphrases = [\"make {n}\"]\n";
    let folder = folder_with(&[
        ("page.txt", b"Cast on 3 stitches.\n\n1st row.--Knit 1, make 1, knit 1.\n"),
        ("senses.toml", senses),
    ]);
    let run = run(folder.path(), &["read", "page.txt", "--json", "--glossary", "senses.toml"]);
    let json: Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(json["pieces"][0]["rows"][0]["ops"], "k kfb k");
    assert!(
        json["notation"].as_array().unwrap().iter().any(|term| term["from"] == "glossary"),
        "{}",
        run.stdout
    );
}

#[test]
fn the_explanation_of_a_book_outranks_the_built_in_senses() {
    let explanation = b"EXPLANATION OF TERMS.\n\nP, plain knitting. B, back or purl knitting.\n";
    let pattern = b"Cast on 9 stitches.\n\n1st row.--P 3, B 3, P 3.\n\n2nd row.--B 3, P 3, B 3.\n";
    let folder = folder_with(&[("page.txt", pattern), ("terms.txt", explanation)]);
    let run = run(folder.path(), &["read", "page.txt", "--json", "--glossary", "terms.txt"]);
    let json: Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(json["pieces"][0]["rows"][0]["ops"], "k*3 p*3 k*3");
    let term = json["notation"].as_array().unwrap().iter().find(|term| term["term"] == "P").cloned().unwrap();
    assert_eq!((term["sense"].as_str(), term["from"].as_str()), (Some("knit"), Some("glossary")));
}

#[test]
fn spans_are_bytes_of_the_file_in_latin_1_too() {
    let folder = folder_with(&[(
        "page.txt",
        b"\xbd \xe9 \x97 Cast on 12 stitches.\n\n1st row.\x97Knit 3, make 1, knit two together, knit 7.\n",
    )]);
    let run = run(folder.path(), &["read", "page.txt", "--json"]);
    let json: Value = serde_json::from_str(&run.stdout).unwrap();
    let bytes = std::fs::read(folder.path().join("page.txt")).unwrap();
    let [start, end] = [0, 1].map(|at| json["pieces"][0]["rows"][0]["span"][at].as_u64().unwrap() as usize);
    assert_eq!(&bytes[start..start + 9], b"1st row.\x97");
    assert!(bytes[start..end].ends_with(b"knit 7") || bytes[start..end].ends_with(b"knit 7."));
}

#[test]
fn writing_follows_the_terms_of_the_country() {
    let text = b"Cast on 6 stitches.\n\n1st row.--Knit.\n\n2nd row.--Cast off 3, knit 3.\n";
    let write = |terms| run_with(Path::new("."), text, &["write", "-", "--terms", terms]).stdout;
    assert!(write("us").contains("Bind off 3 sts"), "{}", write("us"));
    assert!(write("uk").contains("Cast off 3 sts"), "{}", write("uk"));
}

#[test]
fn several_pieces_give_several_charts() {
    let folder = folder_with(&[
        ("one.txt", PATTERN.as_bytes()),
        ("two.txt", format!("{PATTERN}\n{PATTERN}").as_bytes()),
    ]);
    assert!(run(folder.path(), &["chart", "one.txt"]).stdout.starts_with("<svg"));
    let run = run(folder.path(), &["chart", "two.txt", "-o", "rug.svg"]);
    assert_eq!((run.code, run.stderr.as_str()), (Some(0), "rug-1.svg\nrug-2.svg\n"));
    for name in ["rug-1.svg", "rug-2.svg"] {
        assert!(std::fs::read_to_string(folder.path().join(name)).unwrap().ends_with("</svg>\n"));
    }
}

#[test]
fn draping_makes_what_the_ending_says_and_tells_the_size() {
    let folder = folder_with(&[("page.txt", PATTERN.as_bytes())]);
    for (name, start) in [("rug.png", &b"\x89PNG"[..]), ("rug.svg", b"<svg"), ("rug.glb", b"glTF")] {
        let run = run(folder.path(), &["drape", "page.txt", "-o", name, "--gauge", "20x26"]);
        assert_eq!((run.code, run.stderr.trim()), (Some(0), name));
        for word in ["cm wide", "cm high", "20 stitches and 26 rows", "±"] {
            assert!(run.stdout.contains(word), "{}", run.stdout);
        }
        assert!(std::fs::read(folder.path().join(name)).unwrap().starts_with(start), "{name}");
    }
    let taller = run(folder.path(), &["drape", "page.txt", "-o", "rug.glb", "--times", "3"]);
    assert_eq!(taller.code, Some(0), "{}", taller.stderr);
    let wrong = run(folder.path(), &["drape", "page.txt", "-o", "rug.pdf"]);
    assert_eq!(wrong.code, Some(2));
    assert!(wrong.stderr.contains("rug.pdf") && wrong.stderr.contains(".png"), "{}", wrong.stderr);
}

/// "Commence again from the second row": the first, which widens the work, is worked once.
#[test]
fn rows_before_the_one_to_begin_again_at_are_draped_once() {
    let first = "Cast on 12 stitches.\n\n1st row.--* Knit 1, make 1; repeat from *.\n\n2nd row.--Purl.\n\n\
                 3rd row.--Knit.\n\n";
    let again = format!("{first}Commence again from the second row.\n");
    let spelled = format!("{first}4th and 6th rows.--Purl.\n\n5th and 7th rows.--Knit.\n");
    let folder = folder_with(&[("again.txt", again.as_bytes()), ("spelled.txt", spelled.as_bytes())]);
    let drape =
        |file: &str, times: &str| run(folder.path(), &["drape", file, "-o", "a.glb", "--times", times]);
    let (again, spelled) = (drape("again.txt", "3"), drape("spelled.txt", "1"));
    assert_eq!((again.code, spelled.code), (Some(0), Some(0)), "{}{}", again.stderr, spelled.stderr);
    assert_eq!(again.stdout, spelled.stdout);
    // Without the words to begin again, the rows do not follow themselves.
    assert_eq!(drape("spelled.txt", "2").code, Some(1));
}

/// Two readings of one text are shown beside each other, each with its size.
#[test]
fn another_reading_is_shown_beside_the_first() {
    let text = b"Cast on 18 stitches.\n\n1st row.--P 6, K 6, P 6.\n\n2nd row.--K 6, P 6, K 6.\n";
    let folder = folder_with(&[("page.txt", text)]);
    let drape = |arguments: &[&str]| run(folder.path(), &[&["drape", "page.txt", "-o"], arguments].concat());
    assert_eq!(drape(&["one.svg"]).code, Some(0));
    let both = drape(&["two.svg", "--beside", "P=plain"]);
    assert_eq!(both.code, Some(0), "{}", both.stderr);
    for words in ["left about", "right, with P as plain: about"] {
        assert!(both.stdout.contains(words), "{}", both.stdout);
    }
    let width = |name: &str| {
        let svg = std::fs::read_to_string(folder.path().join(name)).unwrap();
        svg.split("width=\"").nth(1).unwrap().split('"').next().unwrap().parse::<f64>().unwrap()
    };
    assert!(width("two.svg") > 1.8 * width("one.svg"));
    for (name, beside, words) in [
        ("two.png", "7", "corrections were weighed"),
        ("two.png", "P=blue", "no answer"),
        ("two.glb", "P=plain", "one reading alone"),
    ] {
        let run = drape(&[name, "--beside", beside]);
        assert_eq!((run.code, run.stderr.contains(words)), (Some(2), true), "{}", run.stderr);
    }
}

/// The pieces of a plan are shown as one cloth.
#[test]
fn a_plan_is_shown_sewn_together() {
    let text = b"THE SQUARE.\n\nCast on 12 stitches.\n\n1st to 24th row.--Knit.\n";
    let plan = b"[swatch]\nstitches = 20\nrows = 28\n[[piece]]\nname = \"square\"\n[block]\nrows = [\"square square\"]\n";
    let folder = folder_with(&[("page.txt", text), ("two.plan", plan), ("none.plan", b"[swatch]\n")]);
    let drape = |plan: &str| run(folder.path(), &["drape", "page.txt", "-o", "two.svg", "--plan", plan]);
    let both = drape("two.plan");
    assert_eq!(both.code, Some(0), "{}", both.stderr);
    assert!(both.stdout.contains("2 pieces, 1 seam:"), "{}", both.stdout);
    assert!(folder.path().join("two.svg").exists());
    assert_eq!(drape("none.plan").code, run(folder.path(), &["plan", "page.txt", "none.plan"]).code);
}

/// A swatch of the pattern's own stitch stands for a gauge of plain fabric, and the sizes then come by it: the swatch
/// itself comes out as it was measured.
#[test]
fn a_swatch_serves_as_a_gauge() {
    let text =
        "Cast on any number of stitches that can be divided by four.\n\n1st row.--Knit 2, purl 2, repeat.\n";
    let folder = folder_with(&[("rib.txt", text.as_bytes())]);
    let swatch = ["drape", "rib.txt", "-o", "rib.png", "--cast-on", "40", "--times", "48", "--swatch"];
    let run_on = |size: &str| run(folder.path(), &[&swatch[..], &[size]].concat());
    for size in ["12x15", "40x48=12x15"] {
        let run = run_on(size);
        assert_eq!(run.code, Some(0), "{}", run.stderr);
        assert!(run.stdout.contains("to 10 cm of plain fabric"), "{}", run.stdout);
        assert!(run.stdout.contains("about 12.0 ±") && run.stdout.contains("and 15.0 ±"), "{}", run.stdout);
    }
    for (size, word) in [("12x0", "WIDTHxHEIGHT"), ("999x1", "no possible gauge")] {
        let run = run_on(size);
        assert_eq!(run.code, Some(2), "{size}");
        assert!(run.stderr.contains(word), "{}", run.stderr);
    }
    std::fs::write(folder.path().join("page.txt"), PATTERN).unwrap();
    let run = run(folder.path(), &["drape", "page.txt", "-o", "page.png", "--swatch", "5x40=2x9"]);
    assert_eq!(
        (run.code, run.stderr.contains("not worked over 5 stitches")),
        (Some(2), true),
        "{}",
        run.stderr
    );
}

#[test]
fn reviving_fills_a_folder() {
    let folder = folder_with(&[]);
    let demo = demo();
    let arguments = [
        "revive",
        demo.to_str().unwrap(),
        "-o",
        "a/b",
        "--title",
        "A Rug",
        "--year",
        "1858",
        "--gauge",
        "18x24",
    ];
    let run = run(folder.path(), &arguments);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    assert!(run.stdout.contains(&Path::new("a/b/booklet.pdf").display().to_string()), "{}", run.stdout);
    let made = folder.path().join("a/b");
    assert!(std::fs::read(made.join("booklet.pdf")).unwrap().starts_with(b"%PDF-"));
    let text = |name: &str| std::fs::read_to_string(made.join(name)).unwrap();
    let json: Value = serde_json::from_str(&text("reading.json")).unwrap();
    let pieces = json["pieces"].as_array().unwrap().len();
    assert!(
        text("rows.txt").contains("Cast on") && text("rows.txt").contains("18 stitches and 24 rows to 10 cm")
    );
    assert!(text("notes.txt").starts_with("Notes on the text: A Rug"));
    assert!(text("rows.txt").contains("draws in or spreads; yarn "));
    // Four files, a chart and a picture for each piece, and nothing that was begun and left.
    assert_eq!(std::fs::read_dir(&made).unwrap().count(), 4 + 2 * pieces);
}

#[test]
fn a_reader_that_stops_early_is_no_error() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_loopwright"))
        .args(["read", "--json"])
        .arg(demo())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), String::from_utf8(output.stderr).unwrap().as_str()), (Some(0), ""));
}

#[test]
fn a_plan_fills_a_folder_with_its_drawing_and_its_forms() {
    let folder = folder_with(&[("page.txt", PATTERN.as_bytes())]);
    let plan = "[swatch]\nstitches = 20\nrows = 28\n[[piece]]\nname = \"scarf\"\ncolour = \"grey\"\n";
    std::fs::write(folder.path().join("plan.toml"), plan).unwrap();
    let run = run(folder.path(), &["plan", "page.txt", "plan.toml", "-o", "out", "--json"]);
    assert_eq!((run.code, run.stderr.as_str()), (Some(0), ""));
    let json: Value = serde_json::from_str(&run.stdout).unwrap();
    assert_eq!(json["schema"], "loopwright.plan/1");
    assert_eq!(json["pieces"][0]["name"], "scarf");
    let read = |name: &str| std::fs::read_to_string(folder.path().join("out").join(name)).unwrap();
    assert_eq!(read("plan.json"), run.stdout);
    assert!(read("plan.txt").contains("1 × scarf"), "{}", read("plan.txt"));
    assert!(read("schematic.svg").contains("1 × scarf"));
}

#[test]
fn sums_are_answered_in_a_line_or_two() {
    let folder = folder_with(&[]);
    for (sum, line) in [
        (&["even", "7", "50"][..], "k4, (m1, k7) 6 times, m1, k4: 57 stitches\n"),
        (&["even", "9", "90", "--decrease", "--over", "round"], "(k8, k2tog) 9 times: 81 stitches\n"),
        (&["slope", "20", "134"], "Shape every 6th row 13 times, then every 8th row 7 times: 134 rows.\n"),
        (
            &["flat", "square", "--gauge", "20x40"],
            "A square lies flat with 4 stitches more a round: 8, two at each corner, in 1 of every 2 rounds.\n",
        ),
        (
            &["slope", "10", "20", "--any-row", "--gauge", "20x40"],
            "Shape every 2nd row 10 times: 20 rows.\nBy one stitch at a time the edge leans 45° from upright.\n",
        ),
        (&["pick-up", "40", "--gauge", "22x30"], "Take up 29 stitches: 3 in every 4 rows.\n"),
        (&["pick-up", "60", "--rule", "3/4"], "Take up 45 stitches.\n"),
        (&["knit-on", "200", "10"], "Exactly 40 repeats, a stitch joined every second row.\n"),
        (
            &["knit-on", "203", "10"],
            "40 repeats and 3 stitches over: join so many two at once, evenly apart, or find 2 stitches for one \
             repeat more.\n",
        ),
        (&["yarn", "metric", "24", "2"], "About 1200 m in 100 g (83 tex).\n"),
    ] {
        let run = run(folder.path(), &[&["sums"], sum].concat());
        assert_eq!((run.code, run.stdout.as_str(), run.stderr.as_str()), (Some(0), line, ""));
    }
    let sum = |sum: &[&str]| run(folder.path(), &[&["sums"], sum].concat());
    let sizes = sum(&["cast-on", "50 cm", "--gauge", "22x30", "--multiple", "12+1"]).stdout;
    assert!(sizes.starts_with("109 stitches, 9 repeats and 1 over: 49.5 cm"), "{sizes}");
    assert!(sizes.contains("\n121 stitches, 10 repeats and 1 over: 55 cm"), "{sizes}");
    assert!(sum(&["stretch", "20 cm", "24 cm"]).stdout.contains("over two needles held together"));
    assert!(
        sum(&["heel", "24"])
            .stdout
            .starts_with("Row 1: k14, skpo, k1, turn.\nRow 2: sl 1, p5, p2tog, p1, turn.\n")
    );
}

#[test]
fn along_prints_rows_lifelines_and_time() {
    let demo = demo();
    let run = run(Path::new("."), &["along", demo.to_str().unwrap(), "--piece", "1", "--pace", "30"]);
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    assert!(
        run.stdout.contains("Row 2   wrong side  Purl (5)\n  ------  lifeline: 5 stitches"),
        "{}",
        run.stdout
    );
    assert!(
        run.stdout.contains("Time at 30 stitches a minute:\n  THE SQUARE: 750 stitches, about 25 minutes")
    );
}

#[test]
fn along_begins_again_where_the_text_says() {
    let text = "Cast on 8 stitches.\n\n1st row.--Knit 3, make 1, knit the rest.\n\n2nd row.--Purl.\n\n\
                3rd row.--Knit 1, make 1, knit 2 together, knit the rest.\n\n4th row.--Purl.\n\n\
                Commence again from the 3rd row.\n";
    let folder = folder_with(&[("page.txt", text.as_bytes())]);
    let along = |arguments: &[&str]| run(folder.path(), &[&["along", "page.txt"], arguments].concat()).stdout;
    let told = along(&[]);
    let again = "Then again from row 3, as long as the pattern says; the 2 rows before it are worked once.";
    assert!(told.contains(again), "{told}");
    let twice = along(&["--times", "2"]);
    for (row, times) in [("  Row 1 ", 1), ("  Row 2 ", 1), ("  Row 3 ", 2), ("  Row 4 ", 2)] {
        assert_eq!(twice.matches(row).count(), times, "{row}: {twice}");
    }
    assert!(!twice.contains("(10)"), "row 1 widens once: {twice}");
}

#[test]
fn along_counts_what_a_plan_needs_and_dates_it() {
    let demo = demo();
    let plan = demo.with_extension("plan");
    let arguments = ["--plan", plan.to_str().unwrap(), "--start", "2026-12-01", "--pace", "30"];
    let run = run(Path::new("."), &[&["along", demo.to_str().unwrap()], &arguments[..]].concat());
    assert_eq!(run.code, Some(0), "{}", run.stderr);
    let border = run.stdout.find("repeats of border").unwrap();
    assert!(run.stdout.find("12 × square").unwrap() < border, "the border comes last");
    assert!(run.stdout.contains("about 5.0 hours  2026-12-01 to 2026-12-05"), "{}", run.stdout);
}

#[test]
fn along_takes_days_and_pace_from_the_plan_unless_flags_tell_others() {
    let demo = demo();
    let folder = folder_with(&[]);
    let planned = std::fs::read_to_string(demo.with_extension("plan")).unwrap()
        + "\n[time]\nstart = \"2026-12-01\"\nhours = 2\npace = 30\n";
    std::fs::write(folder.path().join("rug.plan"), planned).unwrap();
    let along = |flags: &[&str]| {
        let plan = [&["along", demo.to_str().unwrap(), "--plan", "rug.plan"], flags].concat();
        run(folder.path(), &plan).stdout
    };
    let told = along(&[]);
    assert!(told.contains("Time at 30 stitches a minute"), "{told}");
    assert!(told.contains("about 5.0 hours  2026-12-01 to 2026-12-03"), "{told}");
    assert!(
        along(&["--hours-a-day", "5"]).contains("about 5.0 hours  2026-12-01\n"),
        "{}",
        along(&["--hours-a-day", "5"])
    );
}

#[test]
fn along_names_slips_and_finds_rows() {
    let text = "Cast on 25 stitches.\n\n1st row.--Knit 1, * make 1, knit 2 together, repeat from *.\n\n\
                2nd row.--Purl.\n\n3rd row.--Knit.\n\n4th row.--Purl.\n";
    let folder = folder_with(&[("page.txt", text.as_bytes())]);
    let along = |arguments: &[&str]| {
        let run = run(folder.path(), &[&["along", "page.txt"], arguments].concat());
        assert_eq!(run.code, Some(0), "{}", run.stderr);
        run.stdout
    };
    let slips = along(&["--row", "1", "--found", "24", "--wrong-from", "4"]);
    assert!(slips.contains("1. A yarn over was forgotten\n     Row 1: stitch 4 (repeat 2 of 12)"), "{slips}");
    let seen = along(&["--row", "1", "--found", "24", "--yarn-overs", "12", "--loose-loop", "yes"]);
    assert!(seen.contains("1. A stitch was dropped"), "{seen}");
    assert!(along(&["--row", "1", "--found", "25"]).contains("That is the right count."));
    let rows = along(&["--on-needle", "25", "--side", "right", "--above-holes", "1"]);
    assert!(rows.contains("One row fits:\n\n  Row 2 is on the needle. Go on with row 3"), "{rows}");
    let many = along(&["--on-needle", "25", "--side", "right"]);
    assert!(many.starts_with("3 rows fit:") && many.contains("What tells most next: "), "{many}");
    let earlier = along(&["--side", "right", "--above-holes", "1", "--hole-rows", "1", "--was-in", "3"]);
    assert!(earlier.starts_with("One row fits:\n\n  Row 2"), "{earlier}");
}

#[test]
fn along_names_first_the_slip_that_was_made() {
    let folder = folder_with(&[("lace.txt", LACE.as_bytes())]);
    for slip in SLIPPED {
        let mut asked = format!("along lace.txt --row {} --found {}", slip.row, slip.found);
        let counted = run(folder.path(), &asked.split(' ').collect::<Vec<_>>()).stdout;
        assert!(
            counted.contains("--yarn-overs") && counted.contains("--loose-loop"),
            "what tells more: {counted}"
        );
        let loose = if slip.loose_loop { "yes" } else { "no" };
        asked += &format!(" --yarn-overs {} --loose-loop {loose}", slip.yarn_overs);
        if let Some(holes) = slip.holes_below {
            asked += &format!(" --holes-below {holes}");
        }
        let named = run(folder.path(), &asked.split(' ').collect::<Vec<_>>()).stdout;
        let first = format!("  1. {}\n     {}", slip.title, slip.made_in);
        assert!(named.contains(&first), "{asked}: {named}");
        assert!(!named.contains("--yarn-overs"), "it was told: {named}");
    }
}

#[test]
fn along_tells_slips_apart_by_what_lies_together() {
    let folder = folder_with(&[("lace.txt", LACE.as_bytes())]);
    let seen = "along lace.txt --row 2 --found 24 --yarn-overs 0 --holes-below 8 --loose-loop no";
    let seen: Vec<&str> = seen.split(' ').collect();
    let first = |together: &[&str]| run(folder.path(), &[&seen[..], together].concat()).stdout;
    let taken = first(&["--together", "1"]);
    assert!(taken.contains("1. Two stitches were taken together\n     Row 2"), "{taken}");
    let none = first(&["--together", "0"]);
    assert!(none.contains("1. A yarn over of the row before slipped off"), "{none}");
    assert!(!none.contains("To be surer"), "all was told: {none}");
    assert!(first(&[]).contains("stitches lie together in one (--together N)"));
}

#[test]
fn along_writes_one_file_for_the_phone() {
    let folder = folder_with(&[("page.txt", PATTERN.as_bytes())]);
    let run = run(folder.path(), &["along", "page.txt", "-o", "work.html"]);
    assert_eq!((run.code, run.stderr.as_str()), (Some(0), "work.html\n"));
    let page = std::fs::read_to_string(folder.path().join("work.html")).unwrap();
    assert!(page.starts_with("<!doctype html>") && page.ends_with("</html>\n"));
    assert!(page.contains("Row done") && page.contains("<svg"));
}
