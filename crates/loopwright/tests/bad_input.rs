//! Input that no one should give: one clear message, the right exit code, no panic, no half-written file, and
//! memory that stays small.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use std::path::Path;
use std::process::Command;

use common::{PATTERN, Run, finish, run, run_with};

/// Fails unless the run ended with this code and one message that holds all these words and a way out.
fn assert_fails(run: &Run, code: i32, words: &[&str]) {
    assert_eq!(run.code, Some(code), "{}", run.stderr);
    assert!(run.stdout.is_empty(), "{}", run.stdout);
    let lines: Vec<&str> = run.stderr.lines().collect();
    assert!(
        matches!(lines.as_slice(), [error, help] if error.starts_with("error: ") && help.starts_with("help: ")),
        "{lines:#?}"
    );
    for word in words {
        assert!(run.stderr.contains(word), "\"{word}\" is not in {}", run.stderr);
    }
}

/// Every command refuses the file with the same message, and writes nothing.
fn assert_refused(name: &str, bytes: Option<&[u8]>, words: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    if let Some(bytes) = bytes {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    for arguments in [
        &["read", name][..],
        &["read", name, "--json"],
        &["mend", name],
        &["write", name],
        &["chart", name, "-o", "chart.svg"],
        &["drape", name, "-o", "cloth.png"],
        &["along", name, "-o", "work.html"],
        &["revive", name, "-o", "out"],
    ] {
        assert_fails(&run(folder.path(), arguments), 1, &[&[name][..], words].concat());
    }
    let files = std::fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(files, usize::from(bytes.is_some()));
}

#[test]
fn an_empty_file() {
    assert_refused("page.txt", Some(b""), &["empty"]);
    assert_refused("page.txt", Some(b"\n \r\n"), &["empty"]);
}

#[test]
fn a_file_that_is_not_there() {
    assert_refused("page.txt", None, &["no such file"]);
}

#[test]
fn a_binary_file() {
    let all: Vec<u8> = (0..=255).collect();
    assert_refused("page.txt", Some(&all), &["no text", "byte 0"]);
    assert_refused("page.png", Some(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"), &["no text", "byte 8"]);
    assert_refused("page.txt", Some(b"\xff\xfek\0n\0i\0t\0"), &["UTF-16", "UTF-8"]);
}

#[test]
fn a_file_of_ten_megabytes() {
    let large = "Knit 3, make 1, purl 2. ".repeat(10 * 1024 * 1024 / 24);
    assert_refused("book.txt", Some(large.as_bytes()), &["10.0 MB", "2.0 MB", "cut out"]);
    let run = run_with(Path::new("."), large.as_bytes(), &["read", "-"]);
    assert_fails(&run, 1, &["standard input", "2.0 MB"]);
}

#[test]
fn a_folder_instead_of_a_file() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("pages")).unwrap();
    for command in ["read", "mend", "write", "chart"] {
        assert_fails(&run(folder.path(), &[command, "pages"]), 1, &["pages", "folder"]);
    }
    std::fs::write(folder.path().join("page.txt"), PATTERN).unwrap();
    assert_fails(&run(folder.path(), &["read", "page.txt", "--glossary", "pages"]), 1, &["pages", "folder"]);
}

#[test]
fn a_text_with_no_pattern_in_it() {
    let folder = tempfile::tempdir().unwrap();
    let prose = "It rained all day.\n\nShe put the kettle on, and looked out of the window at the garden.\n";
    std::fs::write(folder.path().join("page.txt"), prose).unwrap();
    let read = run(folder.path(), &["read", "page.txt"]);
    assert_eq!((read.code, read.stderr.as_str()), (Some(0), ""));
    assert!(read.stdout.contains("no knitting pattern was found"), "{}", read.stdout);
    let json = run(folder.path(), &["read", "page.txt", "--json"]);
    assert_eq!(json.code, Some(0));
    assert!(json.stdout.contains("\"pieces\": []"), "{}", json.stdout);
    assert_eq!(run(folder.path(), &["mend", "page.txt"]).code, Some(0));
    for arguments in
        [&["write", "page.txt"][..], &["chart", "page.txt"], &["revive", "page.txt", "-o", "out"]]
    {
        assert_fails(
            &run(folder.path(), arguments),
            1,
            &["page.txt", "no knitting pattern was found", "loopwright read"],
        );
    }
    assert!(!folder.path().join("out").exists());
}

/// Texts that ask for more than can be done. Each is read to its end, whatever is found in it.
#[test]
fn numbers_without_measure() {
    let digits = "1".repeat(100_000);
    let nested = format!("Cast on 8.\n1st row.--{}knit 1{}.\n", "(".repeat(5_000), ") 9 times".repeat(5_000));
    for text in [
        "Cast on 12 stitches.\n1st row.--* Knit 1, purl 1, repeat 4000000000 times.\n2nd row.--Purl.\n",
        "Cast on 12 stitches.\n1st row.--Knit.\nRepeat the 1st row 4000000000 times.\n",
        "Cast on 4000000000 stitches.\n1st row.--Knit.\n2nd row.--Purl 4000000000.\n",
        "Cast on 4294967295 stitches on each of 4294967295 needles.\n1st round.--Knit 4294967296.\n",
        "Cast on 12 stitches.\n4294967295th row.--Knit.\n1st to 4294967295th rows.--Purl.\n",
        &format!("Cast on 12 stitches.\n{digits}th row.--Knit.\nRow {digits}: knit {digits}.\n"),
        &format!("Cast on {digits} stitches, divisible by {digits}.\n1st row.--Knit.\n"),
        &nested,
    ] {
        let run = bounded(text);
        assert_eq!(run.code, Some(0), "{}: {}", &text[..text.len().min(80)], run.stderr);
        assert!(run.stdout.starts_with("{\n  \"schema\": \"loopwright.reading/1\""));
    }
}

/// Reads a text with no more than 500 MB of memory to be had, where the system can hold a program to that.
fn bounded(text: &str) -> Run {
    let program = env!("CARGO_BIN_EXE_loopwright");
    if cfg!(target_os = "linux") {
        let script = "ulimit -v 500000 && exec \"$0\" read - --json";
        finish(Command::new("sh").args(["-c", script, program]), text.as_bytes())
    } else {
        run_with(Path::new("."), text.as_bytes(), &["read", "-", "--json"])
    }
}

#[test]
fn an_output_that_cannot_be_written() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("page.txt"), PATTERN).unwrap();
    for (arguments, place) in [
        (&["revive", "page.txt", "-o", "page.txt/out"][..], "page.txt/out"),
        (&["revive", "page.txt", "-o", "page.txt"], "page.txt"),
        (&["chart", "page.txt", "-o", "page.txt/chart.svg"], "page.txt/chart.svg"),
        (&["chart", "page.txt", "-o", "missing/chart.svg"], "missing/chart.svg"),
        (&["chart", "page.txt", "-o", "."], "there is a folder of that name"),
        (&["drape", "page.txt", "-o", "missing/cloth.png"], "missing/cloth.png"),
    ] {
        assert_fails(&run(folder.path(), arguments), 1, &[place]);
    }
    assert_eq!(std::fs::read_to_string(folder.path().join("page.txt")).unwrap(), PATTERN);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn wrong_usage() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("page.txt"), PATTERN).unwrap();
    std::fs::write(folder.path().join("two.txt"), format!("{PATTERN}\n{PATTERN}")).unwrap();
    for arguments in [
        &["unravel", "page.txt"][..],
        &["read"],
        &["read", "page.txt", "--cast-on", "0"],
        &["read", "page.txt", "--cast-on", "4000000000"],
        &["read", "page.txt", "--choose", "P"],
        &["mend", "page.txt", "--top", "0"],
        &["revive", "page.txt"],
        &["revive", "page.txt", "-o", "out", "--gauge", "tight"],
    ] {
        let run = run(folder.path(), arguments);
        assert_eq!(run.code, Some(2), "{arguments:?}: {}", run.stderr);
        assert!(run.stderr.starts_with("error: ") && run.stdout.is_empty(), "{arguments:?}: {}", run.stderr);
    }
    assert_fails(
        &run(folder.path(), &["read", "page.txt", "--choose", "Q=plain"]),
        2,
        &["no question \"Q\"", "P"],
    );
    assert_fails(
        &run(folder.path(), &["read", "page.txt", "--choose", "P=blue"]),
        2,
        &["no answer", "plain"],
    );
    assert_fails(&run(folder.path(), &["chart", "two.txt"]), 2, &["two.txt", "2 pieces", "-o"]);
}

#[test]
fn senses_that_are_damaged() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("page.txt"), PATTERN).unwrap();
    for (senses, words) in [
        ("[[sense]]\nid = \"x\"\nop = \"frog\"\nphrases = [\"knit {n}\"]\n", "frog"),
        ("[[sense]]\nid = \"x\"\n", "op"),
    ] {
        std::fs::write(folder.path().join("senses.toml"), senses).unwrap();
        let run = run(folder.path(), &["read", "page.txt", "--glossary", "senses.toml"]);
        assert_eq!(run.code, Some(1), "{}", run.stderr);
        assert!(run.stderr.contains("senses.toml") && run.stderr.contains(words), "{}", run.stderr);
    }
}

/// No cloth, or too much of it, is told in words and takes no time; nothing is written.
#[test]
fn cloth_that_cannot_be() {
    for (text, words) in [
        ("Cast on 8 stitches.\n\n1st row.--Cast off 8 stitches.\n", "no worked rows"),
        ("Cast on 9000 stitches.\n\n1st row to the 1200th row.--Knit.\n", "more than 2000000 stitches"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("page.txt"), text).unwrap();
        assert_fails(&run(folder.path(), &["drape", "page.txt", "-o", "cloth.png"]), 1, &["page.txt", words]);
        assert!(!folder.path().join("cloth.png").exists());
    }
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("page.txt"), "Cast on 1 stitch.\n\n1st row.--Knit 1, make 99.\n")
        .unwrap();
    let run = run(folder.path(), &["drape", "page.txt", "-o", "cloth.png"]);
    assert_eq!(run.code, Some(0), "a hundred stitches out of one are drawn: {}", run.stderr);
}

#[test]
fn questions_at_the_needles_that_cannot_be_answered() {
    let folder = tempfile::tempdir().unwrap();
    let two = "THE BACK.\n\nCast on 12 stitches.\n\n1st row.--Knit.\n\nTHE FRONT.\n\nCast on 9 stitches.\n\n1st row.--Purl.\n";
    for (file, text) in [("page.txt", PATTERN), ("two.txt", two), ("log.txt", "1 2026-03-01 20:00\n2 soon\n")]
    {
        std::fs::write(folder.path().join(file), text).unwrap();
    }
    std::fs::write(folder.path().join("short.txt"), "1 2026-03-01 20:00\n").unwrap();
    for (arguments, words) in [
        (&["along", "page.txt", "--row", "9", "--found", "12"][..], &["no row \"9\"", "to \"2\""][..]),
        (&["along", "page.txt", "--piece", "2"], &["--piece 2", "1 piece", "from 1 to 1"]),
        (&["along", "two.txt", "--on-needle", "12"], &["2 pieces", "--piece"]),
        (&["along", "page.txt", "--log", "log.txt"], &["log.txt:2", "soon", "rows done and when"]),
        (&["along", "page.txt", "--log", "short.txt"], &["short.txt", "too short", "four moments"]),
        (
            &[
                "along",
                "page.txt",
                "--start",
                "2026-03-01",
                "--pace",
                "1",
                "--hours-a-day",
                "0.05",
                "--piece",
                "7",
            ],
            &["--piece 7"],
        ),
    ] {
        assert_fails(&run(folder.path(), arguments), 2, words);
    }
    for arguments in [
        &["along", "page.txt", "--row", "1"][..],
        &["along", "page.txt", "--found", "12"],
        &["along", "page.txt", "--wrong-from", "3"],
        &["along", "page.txt", "--json", "--on-needle", "12"],
        &["along", "page.txt", "-o", "work.html", "--json"],
        &["along", "page.txt", "--row", "1", "--found", "12", "--ridges", "2"],
        &["along", "page.txt", "--on-needle", "-3"],
        &["along", "page.txt", "--pace", "0"],
        &["along", "page.txt", "--times", "0"],
        &["along", "page.txt", "--start", "2026-02-30"],
    ] {
        let run = run(folder.path(), arguments);
        assert_eq!(run.code, Some(2), "{arguments:?}: {}", run.stderr);
        assert!(run.stdout.is_empty());
    }
}

#[test]
fn sums_that_do_not_come_out() {
    let folder = tempfile::tempdir().unwrap();
    for (sum, message) in [
        (&["slope", "20", "30"][..], "20 shapings do not fit 30 rows, of which 15 may shape"),
        (&["even", "0", "50"], "0 changes cannot be spread over 50 stitches"),
        (&["heel", "3"], "a heel of 3 stitches cannot be turned"),
        (&["even", "4000000000", "4000000000"], "is more than any needle holds"),
        (&["cast-on", "50 cm"], "--gauge"),
        (&["cast-on", "50 cm", "--gauge", "0x-3"], "a gauge is STITCHESxROWS"),
        (&["cast-on", "50 cm", "--gauge", "-9x13"], "count them in the middle of a washed swatch"),
        (&["stretch", "0 cm", "24 cm"], "\"0 cm\" is no length"),
    ] {
        let run = run(folder.path(), &[&["sums"], sum].concat());
        assert_eq!(run.code, Some(2), "{sum:?}");
        assert!(run.stderr.contains(message), "{}", run.stderr);
        assert!(run.stderr.contains("help"), "{}", run.stderr);
    }
}

#[test]
fn a_plan_that_cannot_be_made() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("page.txt"), PATTERN).unwrap();
    let arguments = ["plan", "page.txt", "plan.toml", "-o", "out"];
    assert_fails(&run(folder.path(), &arguments), 1, &["plan.toml", "no such file"]);
    for (plan, words) in [
        ("[[piece]]\nname = \"scarf\"\n", &["plan.toml", "no swatch", "count the stitches"][..]),
        (
            "[swatch]\nstitches = 0\nrows = 28\n[[piece]]\nname = \"scarf\"\n",
            &["0 stitches", "knit a swatch"],
        ),
        ("swatch = 3\n", &["line 1", "docs/plan.md"]),
    ] {
        std::fs::write(folder.path().join("plan.toml"), plan).unwrap();
        assert_fails(&run(folder.path(), &arguments), 1, words);
        assert!(!folder.path().join("out").exists());
    }
}
