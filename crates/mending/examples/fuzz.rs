//! Reads and mends texts that nobody would print, and reports what panics, takes longer than a second, or needs more
//! than 500 MB.
//!
//! ```text
//! cargo run --release -p mending --example fuzz -- [--seconds 60] [--seed 1] [--case N] [--tell] [FILE …]
//! ```
//!
//! Each case comes from its own number: any bytes, words of the craft in any order, or the texts of the files
//! (checked readings or plain text) cut, doubled, spliced and misspelled. A finding is printed with its number, so
//! that `--case` makes it again; the text goes to the tests. Time is that of the processor where the system tells it,
//! so that a busy machine makes no case slow.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::process::ExitCode;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use mending::{Orders, mend};
use notation::Lexicon;
use reading::{Options, Reader};

/// The longest that one case may take.
const SLOW: Duration = Duration::from_secs(1);
/// A case that is not done after so long is given up, and with it the run.
const HANGS: Duration = Duration::from_secs(20);
/// The most memory that may be in use during a case, in kB.
const MEMORY: u64 = 500_000;

const WORDS: &str = "knit purl plain pearl seam P K S T M N 1 2 3 4 7 12 20 0 99 4000000000 one two twenty hundred dozen \
    together tog. twice thrice times more * ( ) [ ] repeat rep. from row rows round 1st 2nd 3rd 2d 5th Row First \
    cast on off bind bring the wool forward thread over slip sl pass slipped stitch make narrow over th o n yo k2tog \
    skp turn like as every alternate all even other between to end last within stitches sts left until remain in on \
    each needle needles divisible by and plus edge begin again at rest ending with . ; : , -- — \n \n\n _ ½ ſ é 3/8";

struct Args {
    seconds: u64,
    seed: u64,
    only: Option<u64>,
    tell: bool,
    texts: Vec<String>,
}

/// What was found.
#[derive(Default)]
struct Tally {
    tried: u64,
    findings: u64,
    slowest: Duration,
    /// The most memory in use, in kB.
    memory: u64,
}

fn main() -> ExitCode {
    let args = arguments();
    let Ok(lexicon) = Lexicon::builtin() else { return ExitCode::FAILURE };
    let end = Instant::now() + Duration::from_secs(args.seconds);
    let cases = args.only.map_or(args.seed << 32..u64::MAX, |case| case..case + 1);
    let mut tally = Tally::default();
    let under_way = watch();
    // A panic is told with its text; the hook's own message would stand between.
    std::panic::set_hook(Box::new(|_| {}));
    for case in cases.take_while(|_| args.only.is_some() || Instant::now() < end) {
        if args.tell {
            eprintln!("{case}");
        }
        let text = Rng(case).text(&args.texts);
        if args.tell && args.only.is_some() {
            eprintln!("{text}");
        }
        if let Ok(mut under_way) = under_way.lock() {
            *under_way = Some((case, text.clone(), Instant::now()));
        }
        tally.add(case, &lexicon, &text);
    }
    println!(
        "{} cases, {} findings, the slowest {:.0} ms, at most {} MB",
        tally.tried,
        tally.findings,
        tally.slowest.as_secs_f64() * 1000.0,
        tally.memory / 1000
    );
    if tally.findings == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// The case under way, its text, and since when.
type UnderWay = Arc<Mutex<Option<(u64, String, Instant)>>>;

/// Watches for a case that does not end.
fn watch() -> UnderWay {
    let under_way = UnderWay::default();
    let watched = Arc::clone(&under_way);
    std::thread::spawn(move || {
        loop {
            std::thread::sleep(Duration::from_secs(1));
            let Ok(under_way) = watched.lock() else { continue };
            if let Some((case, text, since)) =
                under_way.as_ref().filter(|(.., since)| since.elapsed() > HANGS)
            {
                println!("case {case}: not done after {} s\n{text:?}", since.elapsed().as_secs());
                std::process::exit(2);
            }
        }
    });
    under_way
}

fn arguments() -> Args {
    let mut read = Args { seconds: 60, seed: 1, only: None, tell: false, texts: Vec::new() };
    let mut args = std::env::args().skip(1);
    while let Some(arg) = args.next() {
        let mut number = || args.next().and_then(|value| value.parse::<u64>().ok());
        match arg.as_str() {
            "--seconds" => read.seconds = number().unwrap_or(read.seconds),
            "--seed" => read.seed = number().unwrap_or(read.seed),
            "--case" => read.only = number(),
            "--tell" => read.tell = true,
            file => read.texts.extend(text_of(Path::new(file))),
        }
    }
    read
}

impl Tally {
    fn add(&mut self, case: u64, lexicon: &Lexicon, text: &str) {
        forget_memory();
        let took = run(lexicon, text);
        let used = most_memory();
        self.tried += 1;
        self.memory = self.memory.max(used);
        self.slowest = self.slowest.max(took.unwrap_or_default());
        let fault = match took {
            None => Some("panic".to_owned()),
            Some(took) if took > SLOW => Some(format!("{:.1} s", took.as_secs_f64())),
            Some(_) => Some(format!("{used} kB")).filter(|_| used > MEMORY),
        };
        if let Some(fault) = fault {
            println!("case {case}: {fault}\n{text:?}\n");
            self.findings += 1;
        }
    }
}

/// Reads and mends a text, its first paragraph taken for an explanation of terms; `None` where that panics.
fn run(lexicon: &Lexicon, text: &str) -> Option<Duration> {
    let start = (Instant::now(), busy());
    let explained = text.split("\n\n").next().unwrap_or("");
    let worked = catch_unwind(AssertUnwindSafe(|| {
        if let Ok(reader) = Reader::for_text(lexicon, explained, text) {
            let reading = reader.read(text, &Options::default());
            let spans =
                reading.unread.iter().chain(reading.statements.iter().map(|statement| &statement.span));
            for span in spans.filter(|span| !span.is_detached()) {
                assert!(text.get(span.range()).is_some(), "a span outside of the text");
            }
            mend(&reader.study(), text, &Options::default(), &Orders::top(3));
        }
    }));
    let took = busy().zip(start.1).map_or(start.0.elapsed(), |(now, then)| now.saturating_sub(then));
    worked.ok().map(|()| took)
}

/// How long this thread has been at work; `None` where the system does not say.
fn busy() -> Option<Duration> {
    let told = fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    Some(Duration::from_nanos(told.split(' ').next()?.parse().ok()?))
}

/// Lets the most memory that this process has used count from now on, where the system can.
fn forget_memory() {
    // Without it a case that needs too much is found all the same, and those after it with it.
    let _ = fs::write("/proc/self/clear_refs", "5");
}

/// The most memory that this process has used, in kB; 0 where the system does not say.
fn most_memory() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().trim_end_matches(" kB").parse().ok()).unwrap_or(0)
}

/// The text of a checked reading, or a whole file; of a folder those of all files in it.
fn text_of(path: &Path) -> Vec<String> {
    if path.is_dir() {
        let entries = fs::read_dir(path).into_iter().flatten().flatten();
        let mut files: Vec<_> = entries.map(|entry| entry.path()).collect();
        files.sort();
        return files.iter().flat_map(|file| text_of(file)).collect();
    }
    let text = fs::read_to_string(path).unwrap_or_default();
    let table = text.parse::<toml::Table>().ok();
    let own = table.as_ref().and_then(|table| table.get("text")).and_then(toml::Value::as_str);
    vec![own.unwrap_or(&text).to_owned()]
}

/// A stream of numbers from a seed (splitmix64).
struct Rng(u64);

impl Rng {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    fn below(&mut self, bound: usize) -> usize {
        (self.next() % bound.max(1) as u64) as usize
    }

    fn text(&mut self, texts: &[String]) -> String {
        match self.below(10) {
            0 => {
                let bytes: Vec<u8> = (0..self.below(3000)).map(|_| self.next().to_le_bytes()[0]).collect();
                String::from_utf8_lossy(&bytes).into_owned()
            }
            1..=3 => self.words(),
            _ if texts.is_empty() => self.words(),
            _ => self.mutated(texts),
        }
    }

    fn words(&mut self) -> String {
        let words: Vec<&str> = WORDS.split(' ').filter(|word| !word.is_empty()).collect();
        let gaps = ["", " ", " ", " ", " ", ", ", ". "];
        let mut text = String::new();
        for _ in 0..self.below(500) {
            text.push_str(words[self.below(words.len())]);
            text.push_str(gaps[self.below(gaps.len())]);
        }
        text
    }

    fn mutated(&mut self, texts: &[String]) -> String {
        let mut text = texts[self.below(texts.len())].clone();
        for _ in 0..=self.below(6) {
            let (from, to) = self.stretch(&text);
            let piece = text[from..to].to_owned();
            match self.below(6) {
                0 => text.replace_range(from..to, ""),
                1 => text.insert_str(to, &piece),
                2 => text.insert_str(from, &self.words()),
                3 => {
                    let other = &texts[self.below(texts.len())];
                    let (start, end) = self.stretch(other);
                    text.replace_range(from..to, &other[start..end]);
                }
                4 => text.replace_range(from..to, &piece.to_uppercase()),
                _ => {
                    let figures = ["0", "1", "8", "77", "4000000000", "l", "O", " ", ".", "*"];
                    text.insert_str(from, figures[self.below(figures.len())]);
                }
            }
        }
        text
    }

    /// A stretch of a text between two letters, mostly short.
    fn stretch(&mut self, text: &str) -> (usize, usize) {
        let at = |mut place: usize| {
            while !text.is_char_boundary(place) {
                place -= 1;
            }
            place
        };
        let longest = if self.below(4) == 0 { text.len() } else { 30 };
        let from = at(self.below(text.len() + 1));
        (from, at((from + self.below(longest)).min(text.len())))
    }
}
