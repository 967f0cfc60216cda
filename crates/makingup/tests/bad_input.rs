//! Plans that cannot be made: one clear message, and what to measure.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod common;

use makingup::{Plan, PlanFile, Problem};

const SWATCH: &str = "[swatch]\nstitches = 20\nrows = 28\n";
const PIECE: &str = "[[piece]]\nname = \"square\"\nsize = { width = \"20 cm\", height = \"20 cm\" }\n";
const BORDER: &str = "[[piece]]\nname = \"border\"\n";

fn plan(text: &str) -> Result<Plan, Problem> {
    let pieces = [common::garter("The Square", 10, 20), common::points("the border")];
    PlanFile::read(text).and_then(|file| Plan::of(&file, &pieces))
}

/// Fails unless the plan is refused with these words in its message, and these in its help.
fn refused(text: &str, message: &[&str], help: &[&str]) {
    let problem = plan(text).unwrap_err();
    for word in message {
        assert!(problem.message.contains(word), "\"{word}\" is not in \"{}\"", problem.message);
    }
    for word in help {
        assert!(problem.help.contains(word), "\"{word}\" is not in \"{}\"", problem.help);
    }
}

#[test]
fn no_swatch() {
    refused(PIECE, &["no swatch"], &["count the stitches and rows", "10 cm"]);
}

#[test]
fn a_gauge_of_nothing_or_less() {
    for (stitches, rows, word) in
        [("0", "28", "stitches"), ("-3", "28", "stitches"), ("20", "0", "rows"), ("nan", "28", "stitches")]
    {
        let text = format!("[swatch]\nstitches = {stitches}\nrows = {rows}\n{PIECE}");
        refused(&text, &["swatch", word], &["count the", word]);
    }
    refused(
        &format!("[swatch]\nstitches = 20\nrows = 28\nover = \"0 cm\"\n{PIECE}"),
        &["0 cm", "no length"],
        &["cm"],
    );
    refused(
        &format!("[swatch]\nstitches = 5000\nrows = 28\n{PIECE}"),
        &["no gauge of any yarn"],
        &["count again"],
    );
}

#[test]
fn an_edging_deeper_than_the_work() {
    let text = format!(
        "{SWATCH}{PIECE}{BORDER}[edging]\npiece = \"border\"\npath = [[0, 0], [4, 0], [4, 40], [0, 40]]\n"
    );
    refused(&text, &["edging", "deeper than the work"], &["measure the depth"]);
}

#[test]
fn a_path_that_crosses_itself() {
    let path =
        |points: &str| format!("{SWATCH}{PIECE}{BORDER}[edging]\npiece = \"border\"\npath = [{points}]\n");
    refused(&path("[0, 0], [60, 60], [60, 0], [0, 60]"), &["crosses itself"], &["in the order", "measure"]);
    refused(&path("[0, 0], [60, 0]"), &["2 points"], &["corners"]);
    refused(&path("[0, 0], [0, 0], [60, 60]"), &["no length"], &["twice"]);
}

#[test]
fn names_that_are_none() {
    refused(
        &format!("{SWATCH}[[piece]]\nname = \"sleeve\"\n"),
        &["sleeve", "no piece"],
        &["square", "border"],
    );
    refused(&format!("{SWATCH}{PIECE}[block]\nrows = [\"square sqare\"]\n"), &["sqare"], &["square"]);
    refused(&format!("{SWATCH}{PIECE}[block]\nrows = [\"square@45\"]\n"), &["square@45"], &["square@90"]);
    refused(
        &format!("{SWATCH}{PIECE}[[join]]\none = \"square left\"\nother = \"square hem\"\n"),
        &["square hem"],
        &["bottom, right, top, left"],
    );
    refused(&format!("{SWATCH}{PIECE}{PIECE}"), &["two pieces"], &["name of its own"]);
    refused(SWATCH, &["no pieces"], &["add one"]);
}

#[test]
fn a_problem_names_its_entry_and_no_table_in_its_help() {
    let join = "[[join]]\none = \"square left\"\nother = \"square hem\"\n";
    let good = "[[join]]\none = \"square left\"\nother = \"square right\"\n";
    let cases = [
        (String::new(), "[swatch]"),
        (format!("{SWATCH}{PIECE}{good}{join}"), "[[join]] 2"),
        (format!("{SWATCH}{PIECE}[block]\nrows = [\"square hat\"]\n"), "[block]"),
        (format!("{SWATCH}{PIECE}[edging]\npiece = \"lace\"\n"), "[edging]"),
        (format!("{SWATCH}{PIECE}[edging]\npiece = \"square\"\n"), "[edging]"),
        (format!("{SWATCH}{PIECE}[[laid]]\npiece = \"square\"\non = \"middles\"\n"), "[[laid]] 1"),
        (format!("{SWATCH}{PIECE}[[yarn]]\ncolour = \"grey\"\nball = 0\n"), "[[yarn]] \"grey\""),
        (
            format!("{SWATCH}{PIECE}[[needle]]\nnumber = \"9\"\ngauge = \"us\"\npieces = [\"hat\"]\n"),
            "[[needle]] 1",
        ),
        (format!("{SWATCH}{PIECE}[[stretch]]\nedge = \"hat top\"\nto = \"9 cm\"\n"), "[[stretch]] 1"),
        (format!("{SWATCH}[[piece]]\nname = \"hat\"\n"), "[[piece]] \"hat\""),
        (format!("{SWATCH}{PIECE}rows = {{ \"90-91\" = \"red\" }}\n"), "[[piece]] \"square\""),
        (format!("ease = 90\n{SWATCH}{PIECE}"), "ease"),
    ];
    for (text, entry) in cases {
        let problem = plan(&text).unwrap_err();
        assert_eq!(
            problem.entry.map(|entry| entry.to_string()).as_deref(),
            Some(entry),
            "{}",
            problem.message
        );
        assert!(!problem.help.contains(['[', '`']), "{}", problem.help);
    }
}

#[test]
fn what_cannot_be_laid_out() {
    refused(
        &format!("{SWATCH}{PIECE}[block]\nrows = [\"square .\", \". square\"]\n"),
        &["hang together"],
        &["fill the places"],
    );
    refused(
        &format!("{SWATCH}{PIECE}[block]\nrows = [\". .\"]\n"),
        &["no pieces are laid"],
        &["one of the places"],
    );
    refused(
        &format!(
            "{SWATCH}{PIECE}[block]\nrows = [\"square square\"]\n[[laid]]\npiece = \"square\"\non = \"crossings\"\n"
        ),
        &["nowhere"],
        &["in the middle"],
    );
}

#[test]
fn yarn_and_needles_that_are_none() {
    let yarn = |rest: &str| format!("{SWATCH}{PIECE}[[yarn]]\ncolour = \"grey\"\n{rest}\n");
    refused(&yarn("metres = 0"), &["no length"], &["from its band"]);
    refused(&yarn("ball = -50"), &["no ball"], &["from its band"]);
    refused(
        &format!("{SWATCH}{PIECE}[[needle]]\nnumber = \"99\"\ngauge = \"wire\"\n"),
        &["99"],
        &["measure the needle"],
    );
}

#[test]
fn a_file_of_another_form_is_told_with_its_line() {
    refused("[swatch]\nstiches = 20\n", &["line 2", "stiches"], &["docs/plan.md"]);
    refused("nonsense", &["line 1"], &["docs/plan.md"]);
    refused(&format!("ease = 50\n{SWATCH}{PIECE}"), &["50"], &["0 to 20"]);
}
