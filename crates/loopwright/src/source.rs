//! The text of a file, and the way back from the text to the bytes of the file.
//!
//! Bytes that are not UTF-8 are read as Windows-1252, which holds Latin-1: old ebooks are full of them, and a
//! page put together from several sources may hold both. Everything after this module sees UTF-8; spans are
//! offsets into that text. [`Source::in_file`] turns one into byte offsets of the file, which is what JSON tells.

use std::fmt;
use std::fs::File;
use std::io::Read;
use std::path::Path;

use span::Span;

use crate::remark::capital;

/// The largest file that is read, in bytes: about twice the longest books of patterns, and small enough that reading
/// it stays far below 500 MB of memory.
pub const SIZE_LIMIT: u64 = 2 * 1024 * 1024;

/// What standard input is called in messages.
const STANDARD_INPUT: &str = "standard input";

/// A text with its name.
#[derive(Clone, Debug)]
pub struct Source {
    /// The name of the file as given.
    pub name: String,
    /// The text, without a byte order mark.
    pub text: String,
    /// Places after which text and file run apart by another number of bytes, in order.
    anchors: Vec<Anchor>,
}

/// The same place in the text and in the file.
#[derive(Clone, Copy, Debug)]
struct Anchor {
    text: usize,
    file: usize,
}

/// A file that cannot be used as a text.
#[derive(Debug)]
pub struct InputError {
    /// The file.
    pub file: String,
    /// What is wrong with it.
    pub problem: InputProblem,
}

/// What is wrong with a file.
#[derive(Debug)]
pub enum InputProblem {
    /// There is none of that name.
    Missing,
    /// It is a folder.
    Folder,
    /// It cannot be read.
    Unreadable(std::io::Error),
    /// It is larger than [`SIZE_LIMIT`]; the size where it is known.
    TooLarge(Option<u64>),
    /// There is nothing in it.
    Empty,
    /// It is in UTF-16.
    Utf16,
    /// It is no text: the byte at this place cannot stand in one.
    NoText(usize),
}

impl fmt::Display for InputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let file = &self.file;
        match &self.problem {
            InputProblem::Missing => write!(f, "{file}: there is no such file"),
            InputProblem::Folder => write!(f, "{file}: this is a folder, not a file"),
            InputProblem::Unreadable(error) => write!(f, "{file}: the file cannot be read: {error}"),
            InputProblem::TooLarge(Some(size)) => {
                write!(
                    f,
                    "{file}: the file has {}, more than the {} that are read",
                    megabytes(*size),
                    megabytes(SIZE_LIMIT)
                )
            }
            InputProblem::TooLarge(None) => {
                write!(f, "{file}: there is more than the {} that are read", megabytes(SIZE_LIMIT))
            }
            InputProblem::Empty => write!(f, "{file}: the file is empty"),
            InputProblem::Utf16 => write!(f, "{file}: the file is in UTF-16"),
            InputProblem::NoText(at) => write!(f, "{file}: this is no text: byte {at} stands in no text"),
        }
    }
}

impl std::error::Error for InputError {}

impl InputError {
    /// What to do about it.
    pub fn help(&self) -> &'static str {
        match self.problem {
            InputProblem::Missing => "check the name and the folder you are in",
            InputProblem::Folder => "name one text file in the folder",
            InputProblem::Unreadable(_) => "check that you may read the file",
            InputProblem::TooLarge(_) => "cut out the pages with the pattern and give those",
            InputProblem::Empty => "put the text of the pattern in it, or give it as `-` on standard input",
            InputProblem::Utf16 => "save the file as UTF-8",
            InputProblem::NoText(_) => {
                "give plain text: scans need to be transcribed first, documents saved as text"
            }
        }
    }
}

impl Source {
    /// Reads a file, or standard input where the path is `-`.
    ///
    /// # Errors
    /// [`InputError`] when the file cannot be read, is too large, or is no text.
    pub fn load(path: &Path) -> Result<Source, InputError> {
        let is_input = path.as_os_str() == "-";
        let name = if is_input { STANDARD_INPUT.to_owned() } else { path.display().to_string() };
        let bytes = if is_input { bounded(std::io::stdin().lock(), None) } else { file_bytes(path) };
        let problem = match bytes {
            Ok(bytes) => match decode(&bytes) {
                Ok((text, anchors)) => return Ok(Source { name, text, anchors }),
                Err(problem) => problem,
            },
            Err(problem) => problem,
        };
        Err(InputError { file: name, problem })
    }

    /// A text that comes from no file.
    pub fn of_text(name: &str, text: &str) -> Source {
        Source { name: name.to_owned(), text: text.to_owned(), anchors: Vec::new() }
    }

    /// The bytes of the file under a span of the text.
    ///
    /// A span that was made up by the program is given as an empty one at `otherwise`, an offset into the text.
    pub fn in_file(&self, span: Span, otherwise: usize) -> [usize; 2] {
        let range = if span.is_detached() { otherwise..otherwise } else { span.range() };
        [self.offset_in_file(range.start), self.offset_in_file(range.end)]
    }

    fn offset_in_file(&self, offset: usize) -> usize {
        let offset = offset.min(self.text.len());
        let before = self.anchors.partition_point(|anchor| anchor.text <= offset);
        match before.checked_sub(1).and_then(|at| self.anchors.get(at)) {
            Some(anchor) => anchor.file + (offset - anchor.text),
            None => offset,
        }
    }
}

fn file_bytes(path: &Path) -> Result<Vec<u8>, InputProblem> {
    let file = File::open(path).map_err(problem_of)?;
    let about = file.metadata().map_err(problem_of)?;
    if about.is_dir() {
        return Err(InputProblem::Folder);
    }
    bounded(file, about.is_file().then_some(about.len()))
}

fn bounded(reader: impl Read, size: Option<u64>) -> Result<Vec<u8>, InputProblem> {
    if size.is_some_and(|size| size > SIZE_LIMIT) {
        return Err(InputProblem::TooLarge(size));
    }
    let mut bytes = Vec::new();
    reader.take(SIZE_LIMIT + 1).read_to_end(&mut bytes).map_err(problem_of)?;
    if bytes.len() as u64 > SIZE_LIMIT { Err(InputProblem::TooLarge(None)) } else { Ok(bytes) }
}

fn problem_of(error: std::io::Error) -> InputProblem {
    match error.kind() {
        std::io::ErrorKind::NotFound => InputProblem::Missing,
        std::io::ErrorKind::IsADirectory => InputProblem::Folder,
        _ => InputProblem::Unreadable(error),
    }
}

fn decode(bytes: &[u8]) -> Result<(String, Vec<Anchor>), InputProblem> {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(InputProblem::Utf16);
    }
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(InputProblem::Empty);
    }
    if let Some(at) = bytes.iter().position(|byte| is_foreign(*byte)) {
        return Err(InputProblem::NoText(at));
    }
    let body = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut decoded = Decoded {
        text: String::with_capacity(bytes.len()),
        anchors: Vec::new(),
        file: bytes.len() - body.len(),
    };
    decoded.anchor();
    for chunk in body.utf8_chunks() {
        decoded.take(chunk.valid());
        for byte in chunk.invalid() {
            decoded.take_byte(*byte).ok_or(InputProblem::NoText(decoded.file))?;
        }
    }
    Ok((decoded.text, decoded.anchors))
}

/// Control characters that no text holds; tabs, line ends, page ends and the old end-of-file mark are none.
fn is_foreign(byte: u8) -> bool {
    byte == 0x7f || byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r' | 0x0b | 0x0c | 0x1a)
}

struct Decoded {
    text: String,
    anchors: Vec<Anchor>,
    /// Bytes of the file taken so far.
    file: usize,
}

impl Decoded {
    fn anchor(&mut self) {
        self.anchors.push(Anchor { text: self.text.len(), file: self.file });
    }

    fn take(&mut self, valid: &str) {
        self.text.push_str(valid);
        self.file += valid.len();
    }

    /// Takes a byte as Windows-1252; `None` for one that has no meaning there.
    fn take_byte(&mut self, byte: u8) -> Option<()> {
        self.text.push(windows_1252(byte)?);
        self.file += 1;
        self.anchor();
        Some(())
    }
}

/// The characters of 0x80 to 0x9f in the published mapping of Windows-1252; a space stands for none.
const UPPER_CONTROLS: &str = "€ ‚ƒ„…†‡ˆ‰Š‹Œ Ž  ‘’“”•–—˜™š›œ žŸ";

fn windows_1252(byte: u8) -> Option<char> {
    match byte {
        0x80..=0x9f => UPPER_CONTROLS.chars().nth(usize::from(byte - 0x80)).filter(|found| *found != ' '),
        _ => Some(char::from(byte)),
    }
}

/// A title from the name of a file: `carriage-rug.txt` is "Carriage rug".
pub fn title_of(file: &Path) -> String {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let words: String = stem.chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    if words.is_empty() { "A knitting pattern".to_owned() } else { capital(&words) }
}

fn megabytes(size: u64) -> String {
    format!("{:.1} MB", size as f64 / (1024.0 * 1024.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(bytes: &[u8]) -> Source {
        let (text, anchors) = decode(bytes).unwrap();
        Source { name: String::new(), text, anchors }
    }

    /// The bytes of the file under the words of the text.
    fn under<'a>(bytes: &'a [u8], words: &str) -> &'a [u8] {
        let source = source(bytes);
        let at = source.text.find(words).unwrap();
        let [start, end] = source.in_file(Span::new(at, at + words.len()), 0);
        &bytes[start..end]
    }

    #[test]
    fn spans_lead_back_to_the_bytes_of_the_file() {
        assert_eq!(under(b"knit 3", "3"), b"3");
        assert_eq!(under("1st row—knit 3".as_bytes(), "knit"), b"knit");
        assert_eq!(under(b"\xef\xbb\xbfknit 3", "knit"), b"knit");
        assert_eq!(under(b"1st row\x97knit \xbd, caf\xe9, purl 2", "purl 2"), b"purl 2");
        assert_eq!(under(b"1st row\x97knit \xbd, caf\xe9", "é"), b"\xe9");
        assert_eq!(under(b"caf\xe9 \xe2\x80\x94 knit, \x93purl\x94 2", "“purl” 2"), b"\x93purl\x94 2");
    }

    #[test]
    fn a_made_up_span_is_empty_at_the_place_given() {
        assert_eq!(source(b"\xe9\xe9 knit").in_file(Span::DETACHED, 4), [2, 2]);
        assert_eq!(source(b"knit").in_file(Span::new(2, 900), 0), [2, 4]);
    }

    #[test]
    fn every_byte_of_windows_1252_has_its_character() {
        assert_eq!(UPPER_CONTROLS.chars().count(), 32);
        assert_eq!((0x80..=0xff).filter_map(windows_1252).count(), 123);
        assert_eq!(windows_1252(0x9f), Some('Ÿ'));
        assert_eq!(windows_1252(0x8d), None);
    }

    #[test]
    fn what_is_no_text_is_refused_with_its_place() {
        assert!(matches!(decode(b"knit\0purl"), Err(InputProblem::NoText(4))));
        assert!(matches!(decode(b"knit \x81 purl"), Err(InputProblem::NoText(5))));
        assert!(matches!(decode(b" \r\n\n"), Err(InputProblem::Empty)));
        assert!(matches!(decode(b"\xff\xfek\0n\0"), Err(InputProblem::Utf16)));
        assert!(decode(b"knit\x0c\r\npurl\x1a").is_ok());
    }

    #[test]
    fn a_title_comes_from_the_name_of_the_file() {
        let title = |file: &str| title_of(Path::new(file));
        assert_eq!(title("demo/carriage-rug.txt"), "Carriage rug");
        assert_eq!(title("-"), "A knitting pattern");
        assert_eq!(title("Beeton_1870.p.12.txt"), "Beeton 1870 p 12");
    }
}
