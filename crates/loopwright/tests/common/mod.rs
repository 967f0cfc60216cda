//! Runs the real program as a person would.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// A small pattern that comes out.
pub const PATTERN: &str =
    "Cast on 12 stitches.\n\n1st row.--Knit 3, make 1, knit two together, knit 7.\n\n2nd row.--Purl.\n";

/// What a run left.
pub struct Run {
    pub code: Option<i32>,
    pub stdout: String,
    pub stderr: String,
}

/// Runs the program in a folder, with a text on its standard input.
pub fn run_with(folder: &Path, input: &[u8], arguments: &[&str]) -> Run {
    let mut command = Command::new(env!("CARGO_BIN_EXE_loopwright"));
    finish(command.args(arguments).current_dir(folder), input)
}

/// Runs the program in a folder.
pub fn run(folder: &Path, arguments: &[&str]) -> Run {
    run_with(folder, b"", arguments)
}

/// Starts a command, gives it its input and waits.
pub fn finish(command: &mut Command, input: &[u8]) -> Run {
    let mut child =
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut stdin = child.stdin.take().unwrap();
    let input = input.to_owned();
    // A program that does not want its input may end before it is given.
    let writer = std::thread::spawn(move || drop(stdin.write_all(&input)));
    let Output { status, stdout, stderr } = child.wait_with_output().unwrap();
    writer.join().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Run { code: status.code(), stdout: text(stdout), stderr: text(stderr) }
}
