//! Fits the costs of the grammar to checked readings and generated texts, and shows whether they hold on what was
//! left out.
//!
//! ```text
//! cargo run --release -p prose --example fit -- BOOK_FOLDER… [--generated 20] [--rounds 1] [--leave-out]
//! ```
//!
//! Each folder holds the checked readings of one book. Every cost of the grammar is tried a half lower, a half
//! higher and at nothing; what lowers the loss stays. The loss is the share of rows read wrong, and a little for each
//! text that is not exact and for each change of a cost, so that what decides nothing stays as it is. With
//! `--leave-out` each book is read in turn by a reader without the senses found in that book alone, and again with
//! costs fitted on the others.

use std::fs;
use std::path::Path;

use loops::{Op, Stitch, parse_tokens};
use notation::Lexicon;
use prose::{Dialect, random_program, write};
use reading::{GRAMMAR, Options, Reader, lexicon_of_book, senses_of, senses_within};

/// Weight of a whole text beside its rows.
const TEXT: f64 = 0.5;
/// Loss for each change of a cost, against fitting to chance.
const CHANGE: f64 = 0.02;

/// A text with the rows that must come out.
struct Case {
    book: String,
    text: String,
    /// The senses in force: those of the book's explanation among them.
    lexicon: Lexicon,
    options: Options,
    rows: Vec<Vec<Op>>,
}

/// What came of some texts.
#[derive(Clone, Copy, Default)]
struct Score {
    texts: usize,
    exact: usize,
    rows: usize,
    rows_exact: usize,
    loss: f64,
}

/// One cost of the grammar: where it stands in the text.
#[derive(Clone)]
struct Cost {
    line: usize,
    at: usize,
    len: usize,
}

struct Args {
    folders: Vec<String>,
    generated: u64,
    rounds: usize,
    leave_out: bool,
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args = arguments()?;
    let lexicon = Lexicon::builtin()?;
    let mut books: Vec<(String, Vec<Case>)> = Vec::new();
    for folder in &args.folders {
        let name =
            Path::new(folder).file_name().map_or_else(String::new, |name| name.to_string_lossy().into());
        books.push((name, checked(Path::new(folder), &lexicon)?));
    }
    let generated = generated(1_000_000..1_000_000 + args.generated, &lexicon)?;
    let unseen = self::generated(2_000_000..2_000_000 + args.generated, &lexicon)?;
    if args.leave_out {
        return leave_out(&args, &books, &generated);
    }
    let all: Vec<&Case> = books.iter().flat_map(|(_, cases)| cases).chain(&generated).collect();
    let fitted = fit(GRAMMAR, &all, args.rounds, true);
    for (name, cases) in &books {
        let cases: Vec<&Case> = cases.iter().collect();
        print(name, &score(GRAMMAR, &cases), &score(&fitted, &cases));
    }
    print("generated", &score(GRAMMAR, &refs(&generated)), &score(&fitted, &refs(&generated)));
    print("generated, unseen", &score(GRAMMAR, &refs(&unseen)), &score(&fitted, &refs(&unseen)));
    Ok(())
}

fn arguments() -> Result<Args, Box<dyn std::error::Error>> {
    let mut read = Args { folders: Vec::new(), generated: 20, rounds: 1, leave_out: false };
    let mut args = std::env::args().skip(1);
    while let Some(arg) = args.next() {
        let mut value = || args.next().ok_or(format!("{arg} wants a value"));
        match arg.as_str() {
            "--generated" => read.generated = value()?.parse()?,
            "--rounds" => read.rounds = value()?.parse()?,
            "--leave-out" => read.leave_out = true,
            folder => read.folders.push(folder.to_owned()),
        }
    }
    Ok(read)
}

/// Each book read by what the others taught.
fn leave_out(
    args: &Args,
    books: &[(String, Vec<Case>)],
    generated: &[Case],
) -> Result<(), Box<dyn std::error::Error>> {
    println!("{:<20} {:>22} {:>22} {:>22}", "book", "with all", "without its senses", "and its costs");
    for (name, cases) in books {
        let folder = args.folders.iter().find(|folder| folder.ends_with(name.as_str()));
        let author = name.split('-').next().unwrap_or(name);
        let author = author[..1].to_uppercase() + &author[1..];
        let lexicon = Lexicon::builtin_without(&author)?;
        let without = checked(Path::new(folder.map_or("", String::as_str)), &lexicon)?;
        let others: Vec<&Case> = books
            .iter()
            .filter(|(other, _)| other != name)
            .flat_map(|(_, cases)| cases)
            .chain(generated)
            .collect();
        let fitted = fit(GRAMMAR, &others, args.rounds, false);
        let scores =
            [score(GRAMMAR, &refs(cases)), score(GRAMMAR, &refs(&without)), score(&fitted, &refs(&without))];
        let [all, senses, costs] = scores.map(told);
        println!("{name:<20} {all:>22} {senses:>22} {costs:>22}");
    }
    Ok(())
}

fn refs(cases: &[Case]) -> Vec<&Case> {
    cases.iter().collect()
}

fn told(score: Score) -> String {
    format!("{}/{} {}/{} rows", score.exact, score.texts, score.rows_exact, score.rows)
}

fn print(name: &str, before: &Score, after: &Score) {
    println!("{name:<20} {:>24} -> {:>24}", told(*before), told(*after));
}

/// The checked readings of a folder.
fn checked(folder: &Path, lexicon: &Lexicon) -> Result<Vec<Case>, Box<dyn std::error::Error>> {
    let mut files: Vec<_> = fs::read_dir(folder)?.flatten().map(|entry| entry.path()).collect();
    files.retain(|file| file.extension().is_some_and(|extension| extension == "toml"));
    files.sort();
    files.iter().map(|file| case_of(&fs::read_to_string(file)?, folder, lexicon)).collect()
}

fn case_of(file: &str, folder: &Path, lexicon: &Lexicon) -> Result<Case, Box<dyn std::error::Error>> {
    let table: toml::Table = file.parse()?;
    let string = |key: &str| table.get(key).and_then(toml::Value::as_str).unwrap_or("").to_owned();
    let rows = table.get("rows").and_then(toml::Value::as_array).into_iter().flatten();
    let ops = rows.filter_map(|row| row.get("ops").and_then(toml::Value::as_str));
    let rows = ops.map(|ops| parse_tokens(ops).map(|stitches| spelled(&stitches)).unwrap_or_default());
    let open = table.contains_key("multiple")
        || table.get("cast_on_chosen").and_then(toml::Value::as_bool).unwrap_or(false);
    let cast_on = table.get("cast_on").and_then(toml::Value::as_integer).filter(|_| open);
    let cast_on = cast_on.and_then(|count| u32::try_from(count).ok());
    let (text, glossary) = (string("text"), string("glossary"));
    let mut explained = senses_of(&glossary, lexicon);
    explained.join(senses_within(&text, lexicon));
    Ok(Case {
        book: folder.to_string_lossy().into_owned(),
        lexicon: explained.install(lexicon),
        options: Options { cast_on, answers: explained.answers.clone(), ..Options::default() },
        rows: rows.collect(),
        text,
    })
}

fn generated(
    seeds: std::ops::Range<u64>,
    lexicon: &Lexicon,
) -> Result<Vec<Case>, Box<dyn std::error::Error>> {
    let mut cases = Vec::new();
    for dialect in Dialect::all()? {
        let (own, _) = lexicon_of_book(lexicon, &dialect.glossary);
        for seed in seeds.clone() {
            let prose = write(&random_program(seed), &dialect, seed);
            cases.push(Case {
                book: dialect.name.clone(),
                text: prose.text,
                lexicon: own.clone(),
                options: Options {
                    cast_on: prose.cast_on,
                    answers: prose.answers.into_iter().collect(),
                    ..Options::default()
                },
                rows: prose.rows.into_iter().map(|row| row.ops).collect(),
            });
        }
    }
    Ok(cases)
}

fn spelled(stitches: &[Stitch]) -> Vec<Op> {
    stitches.iter().map(|stitch| stitch.op).collect()
}

/// Reads texts with a grammar. A grammar that cannot be used reads nothing.
fn score(grammar: &str, cases: &[&Case]) -> Score {
    let mut score = Score::default();
    let mut reader: Option<(&str, Reader)> = None;
    for case in cases {
        // Texts of one dialect share a reader; a checked reading has senses of its own.
        let shared = !case.book.contains('/');
        if !shared || reader.as_ref().is_none_or(|(book, _)| *book != case.book) {
            reader =
                Reader::with_grammar(case.lexicon.clone(), grammar).ok().map(|reader| (&*case.book, reader));
        }
        let Some((_, reader)) = &reader else { continue };
        score.add(case, reader);
    }
    score
}

impl Score {
    fn add(&mut self, case: &Case, reader: &Reader) {
        let reading = reader.read(&case.text, &case.options);
        let right = |piece: &reading::PieceReading| {
            let rows = piece.worked.rows.iter().map(|row| spelled(&row.ops));
            rows.zip(&case.rows).filter(|(read, told)| same(read, told)).count()
        };
        let best = reading.pieces.iter().max_by_key(|piece| right(piece));
        let rows = best.map_or(0, right);
        let exact = rows == case.rows.len() && best.is_some_and(|piece| piece.worked.rows.len() == rows);
        self.texts += 1;
        self.exact += usize::from(exact);
        self.rows += case.rows.len();
        self.rows_exact += rows;
        self.loss += 1.0 - rows as f64 / case.rows.len().max(1) as f64 + if exact { 0.0 } else { TEXT };
    }
}

/// Whether two rows are the same, slips compared without regard to kind.
fn same(a: &[Op], b: &[Op]) -> bool {
    let alike = |op: Op| if op.is_slip() && op != Op::SlYo { Op::Slp } else { op };
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| alike(*a) == alike(*b))
}

/// The grammar with the costs that lose least on some texts: each is tried lower and higher, one after the other.
fn fit(grammar: &str, cases: &[&Case], rounds: usize, tell: bool) -> String {
    let mut best = grammar.to_owned();
    let mut loss = score(&best, cases).loss;
    for _ in 0..rounds {
        for index in 0..costs(&best).len() {
            let Some(cost) = costs(&best).into_iter().nth(index) else { break };
            let value: f64 = value_of(&best, &cost);
            for other in [value * 0.5, value * 1.5, 0.0] {
                let text = with_cost(&best, &cost, other);
                let tried = score(&text, cases).loss + CHANGE;
                if tried < loss {
                    if tell {
                        let rule = best.lines().nth(cost.line).unwrap_or("").trim();
                        println!("{value} to {other:.2}, loss {loss:.2} to {tried:.2}: {rule}");
                    }
                    (best, loss) = (text, tried);
                    break;
                }
            }
        }
    }
    best
}

/// The costs of a grammar, in the order of its text.
fn costs(grammar: &str) -> Vec<Cost> {
    let lines = grammar.lines().enumerate().filter(|(_, line)| !line.trim_start().starts_with('#'));
    let cost = |(line, text): (usize, &str)| {
        let at = text.find('~')? + 1;
        let len = text[at..].find(' ').unwrap_or(text.len() - at);
        Some(Cost { line, at, len })
    };
    lines.filter_map(cost).collect()
}

fn value_of(grammar: &str, cost: &Cost) -> f64 {
    let line = grammar.lines().nth(cost.line).unwrap_or("");
    line[cost.at..cost.at + cost.len].parse().unwrap_or(0.0)
}

fn with_cost(grammar: &str, cost: &Cost, value: f64) -> String {
    let mut lines: Vec<String> = grammar.lines().map(str::to_owned).collect();
    lines[cost.line].replace_range(cost.at..cost.at + cost.len, &format!("{value:.2}"));
    lines.join("\n")
}
