//! Writes random programs in every dialect, reads the texts back, and prints how many come out stitch for stitch.
//!
//! ```text
//! cargo run -p prose --example roundtrip -- [--n 500] [--seed 1] [--dialect NAME] [--kind Lace] [--infer]
//!     [--failures 12] [--show SEED]
//! ```
//!
//! Failures are grouped by the idiom that fails most above its share, the shortest text first. `--infer` keeps the
//! book's explanation of terms from the reader. `--show` prints one text with the rows as meant and as read.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use loops::{Op, Stitch, WorkedRow, tokens};
use prose::{Dialect, Kind, Prose, Rng, program_of, random_program, write};
use reading::{Options, Reader, lexicon_of_book};
use span::Span;

struct Args {
    n: u64,
    seed: u64,
    dialect: Option<String>,
    kind: Option<String>,
    infer: bool,
    failures: usize,
    show: Option<u64>,
}

/// One text that was read, or not.
struct Case {
    seed: u64,
    prose: Prose,
    read: Vec<WorkedRow>,
    /// The first row that differs.
    differs: Option<usize>,
    panicked: bool,
}

#[derive(Clone, Copy, Default)]
struct Score {
    all: usize,
    exact: usize,
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args = arguments()?;
    let dialects = Dialect::all()?;
    let builtin = Reader::new()?;
    let mut cases = Vec::new();
    for dialect in
        dialects.iter().filter(|dialect| args.dialect.as_ref().is_none_or(|name| *name == dialect.name))
    {
        let reader = if args.infer {
            Reader::new()?
        } else {
            Reader::with(lexicon_of_book(builtin.lexicon(), &dialect.glossary).0)?
        };
        let seeds = args.show.map_or(args.seed..args.seed + args.n, |seed| seed..seed + 1);
        cases.extend(seeds.map(|seed| case(&args, dialect, &reader, seed)));
    }
    if args.show.is_some() {
        cases.iter().for_each(print_whole);
        return Ok(());
    }
    print_dialects(&cases);
    let idioms = scores(&cases);
    print_failures(&cases, &idioms, args.failures);
    print_idioms(&idioms);
    Ok(())
}

fn arguments() -> Result<Args, Box<dyn std::error::Error>> {
    let mut args =
        Args { n: 300, seed: 1, dialect: None, kind: None, infer: false, failures: 15, show: None };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        let mut value = || words.next().ok_or(format!("{word} wants a value"));
        match word.as_str() {
            "--n" => args.n = value()?.parse()?,
            "--seed" => args.seed = value()?.parse()?,
            "--dialect" => args.dialect = Some(value()?),
            "--kind" => args.kind = Some(value()?),
            "--failures" => args.failures = value()?.parse()?,
            "--show" => args.show = Some(value()?.parse()?),
            "--infer" => args.infer = true,
            _ => return Err(format!("unknown argument {word}").into()),
        }
    }
    Ok(args)
}

fn case(args: &Args, dialect: &Dialect, reader: &Reader, seed: u64) -> Case {
    let kind = Kind::ALL.into_iter().find(|kind| args.kind.as_ref() == Some(&format!("{kind:?}")));
    let piece = kind.map_or_else(|| random_program(seed), |kind| program_of(kind, &mut Rng::new(seed)));
    let prose = write(&piece, dialect, seed);
    let options = Options { cast_on: prose.cast_on, ..Options::default() };
    let reading = catch_unwind(AssertUnwindSafe(|| reader.read(&prose.text, &options)));
    let panicked = reading.is_err();
    let pieces = reading.map(|reading| reading.pieces).unwrap_or_default();
    let best = pieces.into_iter().max_by_key(|piece| agreeing(&prose, &piece.worked.rows));
    let read = best.map(|piece| piece.worked.rows).unwrap_or_default();
    let agree = agreeing(&prose, &read);
    let differs = (agree < prose.rows.len() || read.len() > agree).then_some(agree);
    Case { seed, prose, read, differs, panicked }
}

/// How many rows from the first on are the same.
fn agreeing(prose: &Prose, rows: &[WorkedRow]) -> usize {
    let alike = |op: Op| if op.is_slip() && op != Op::SlYo { Op::Slp } else { op };
    let same = |row: &WorkedRow, ops: &[Op]| {
        row.ops.len() == ops.len() && row.ops.iter().zip(ops).all(|(a, b)| alike(a.op) == alike(*b))
    };
    rows.iter().zip(&prose.rows).take_while(|(row, meant)| same(row, &meant.ops)).count()
}

fn print_dialects(cases: &[Case]) {
    let mut by_dialect: BTreeMap<&str, Score> = BTreeMap::new();
    let mut all = Score::default();
    let mut panics = 0;
    for case in cases {
        for score in [by_dialect.entry(&case.prose.dialect).or_default(), &mut all] {
            score.all += 1;
            score.exact += usize::from(case.differs.is_none());
        }
        panics += usize::from(case.panicked);
    }
    for (name, score) in by_dialect.into_iter().chain([("all", all)]) {
        println!("{name:<18} {:>6} of {:<6} {:>6.2} %", score.exact, score.all, score.percent());
    }
    println!("{panics} panics");
}

impl Score {
    fn percent(self) -> f64 {
        if self.all == 0 { 100.0 } else { 100.0 * self.exact as f64 / self.all as f64 }
    }
}

/// For each idiom the places that hold it, and how many of them were read as meant; of a text that fails, the
/// place where it first does.
fn scores(cases: &[Case]) -> BTreeMap<String, Score> {
    let mut idioms: BTreeMap<String, Score> = BTreeMap::new();
    let mut add = |idiom: &String, exact: bool| {
        let score = idioms.entry(idiom.clone()).or_default();
        score.all += 1;
        score.exact += usize::from(exact);
    };
    for case in cases {
        let at = first_place(case);
        for (index, telling) in case.prose.tellings.iter().enumerate() {
            telling.idioms.iter().for_each(|idiom| add(idiom, at != Some(index)));
        }
        case.prose.idioms.iter().for_each(|idiom| add(idiom, case.differs.is_none()));
    }
    idioms
}

/// The place that tells the first row that differs.
fn first_place(case: &Case) -> Option<usize> {
    case.prose.rows.get(case.differs?)?.telling
}

/// The idiom most to blame: of those at the place that fails, the one that fails most often.
fn blamed<'a>(case: &'a Case, idioms: &BTreeMap<String, Score>) -> &'a str {
    let rate = |idiom: &String| idioms.get(idiom).map_or(0.0, |score| 100.0 - score.percent());
    let place = first_place(case).map(|place| &case.prose.tellings[place].idioms);
    let local = place.and_then(|idioms| idioms.iter().max_by(|a, b| rate(a).total_cmp(&rate(b))));
    let whole = case.prose.idioms.iter().max_by(|a, b| rate(a).total_cmp(&rate(b)));
    let worst = local.filter(|local| whole.is_none_or(|whole| rate(local) * 4.0 >= rate(whole))).or(whole);
    worst.map_or("", String::as_str)
}

fn print_failures(cases: &[Case], idioms: &BTreeMap<String, Score>, most: usize) {
    let mut groups: BTreeMap<&str, Vec<&Case>> = BTreeMap::new();
    for case in cases.iter().filter(|case| case.differs.is_some()) {
        groups.entry(blamed(case, idioms)).or_default().push(case);
    }
    let mut groups: Vec<(&str, Vec<&Case>)> = groups.into_iter().collect();
    groups.sort_by_key(|(_, cases)| std::cmp::Reverse(cases.len()));
    for (idiom, mut cases) in groups.into_iter().take(most) {
        cases.sort_by_key(|case| case.prose.text.len());
        println!("\n==== {idiom}: {} texts fail here first", cases.len());
        cases.iter().take(1).for_each(|case| print_short(case));
    }
}

fn print_short(case: &Case) {
    println!("---- {} {}, cast on {:?}", case.prose.dialect, case.seed, case.prose.cast_on);
    println!("{}", cut(&case.prose.text, 700));
    let row = case.differs.unwrap_or(0);
    print_row(case, row);
}

fn print_row(case: &Case, row: usize) {
    if case.panicked {
        println!("  panic");
    }
    let meant = case.prose.rows.get(row).map(|row| (stitches(&row.ops), row.after));
    let meant = meant.map_or("nothing".to_owned(), |(ops, after)| format!("{} [{after}]", tokens(&ops)));
    let read = case
        .read
        .get(row)
        .map_or("nothing".to_owned(), |row| format!("{} [{}]", tokens(&row.ops), row.after));
    println!("  {} meant {}\n    read  {}", row + 1, cut(&meant, 200), cut(&read, 200));
}

fn print_whole(case: &Case) {
    println!(
        "---- {} {}, cast on {:?}\n{}",
        case.prose.dialect, case.seed, case.prose.cast_on, case.prose.text
    );
    for row in 0..case.prose.rows.len().max(case.read.len()) {
        print_row(case, row);
    }
    println!("first difference: {:?}", case.differs.map(|row| row + 1));
}

fn print_idioms(idioms: &BTreeMap<String, Score>) {
    let mut worst: Vec<(&String, &Score)> =
        idioms.iter().filter(|(_, score)| score.exact < score.all).collect();
    worst.sort_by(|a, b| a.1.percent().total_cmp(&b.1.percent()));
    println!(
        "\nidioms with failures (places that hold it; of a text that fails only the first place counts)"
    );
    for (idiom, score) in worst.into_iter().take(60) {
        println!("{:>6.1} %  {:>5} of {:<5} {idiom}", score.percent(), score.exact, score.all);
    }
}

fn stitches(ops: &[Op]) -> Vec<Stitch> {
    ops.iter().map(|&op| Stitch { op, span: Span::DETACHED }).collect()
}

fn cut(text: &str, most: usize) -> String {
    if text.chars().count() > most {
        format!("{}…", text.chars().take(most).collect::<String>())
    } else {
        text.to_owned()
    }
}
