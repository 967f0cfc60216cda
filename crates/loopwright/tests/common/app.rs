//! Starts the real app and asks it over a real connection.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};

/// No answer takes longer, even of a program that is built for tests on a busy machine.
const PATIENCE: Duration = Duration::from_secs(120);

/// A running app; it is killed when it is dropped.
pub struct App {
    child: Child,
    pub port: u16,
    pub token: String,
    /// The address as it was printed.
    pub address: String,
}

/// What the app answered.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl App {
    /// Starts the app on the shelf of a folder.
    pub fn start(folder: &Path) -> App {
        App::start_with(folder, &[])
    }

    /// Starts the app with more arguments.
    pub fn start_with(folder: &Path, arguments: &[&str]) -> App {
        let mut child = Command::new(env!("CARGO_BIN_EXE_loopwright"))
            .args(["open", "--no-browser", "--shelf"])
            .arg(folder)
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::inherit())
            .spawn()
            .expect("the program starts");
        let mut line = String::new();
        let stdout = child.stdout.take().expect("its output");
        BufReader::new(stdout).read_line(&mut line).expect("a line");
        let address = line.split_whitespace().last().expect("the address").to_owned();
        let (place, token) = address.split_once('#').expect("the token");
        let port = place.split([':', '/']).nth(4).and_then(|port| port.parse().ok()).expect("the port");
        App { child, port, token: token.to_owned(), address }
    }

    /// Kills the program where it stands.
    pub fn kill(&mut self) {
        self.child.kill().expect("it runs");
        self.child.wait().expect("it ends");
    }

    /// Asks with the token.
    pub fn ask(&self, method: &str, path: &str, body: Option<&Value>) -> Answer {
        let bytes = body.map(|body| serde_json::to_vec(body).expect("JSON"));
        let kind = if body.is_some() { "application/json" } else { "" };
        self.send(method, path, kind, bytes.as_deref().unwrap_or_default())
    }

    /// Sends bytes of a kind with the token.
    pub fn send(&self, method: &str, path: &str, kind: &str, body: &[u8]) -> Answer {
        let bearer = format!("Bearer {}", self.token);
        let host = format!("127.0.0.1:{}", self.port);
        let mut headers = vec![("host", host.as_str()), ("authorization", bearer.as_str())];
        if !kind.is_empty() {
            headers.push(("content-type", kind));
        }
        self.raw(method, path, &headers, body).expect("an answer")
    }

    /// Asks with nothing but these headers.
    pub fn raw(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &[u8],
    ) -> std::io::Result<Answer> {
        let mut stream = self.connect()?;
        stream.write_all(&request(method, path, headers, body))?;
        Answer::read(stream)
    }

    /// A connection to the app.
    pub fn connect(&self) -> std::io::Result<TcpStream> {
        let stream = TcpStream::connect(("127.0.0.1", self.port))?;
        stream.set_read_timeout(Some(PATIENCE))?;
        Ok(stream)
    }

    /// Makes a project of a text and gives its id.
    pub fn project(&self, text: &str) -> String {
        let made = self.ask("POST", "/api/projects", Some(&json!({ "title": "A pattern", "text": text })));
        assert_eq!(made.status, 200, "{made:?}");
        made.json()["id"].as_str().expect("an id").to_owned()
    }

    /// Makes changes from one window at a revision.
    pub fn change(&self, id: &str, base: u64, changes: &Value) -> Answer {
        let body = json!({ "base": base, "window": "one", "changes": changes });
        self.ask("POST", &format!("/api/projects/{id}/changes"), Some(&body))
    }

    /// The project as it stands.
    pub fn state(&self, id: &str) -> Value {
        self.ask("GET", &format!("/api/projects/{id}"), None).json()
    }

    /// Everything made of the project.
    pub fn view(&self, id: &str) -> Value {
        self.ask("GET", &format!("/api/projects/{id}/view"), None).json()
    }

    /// What happens to a project, line by line.
    pub fn live(&self, id: &str) -> Live {
        let mut stream = self.connect().expect("a connection");
        let (bearer, host) = (format!("Bearer {}", self.token), format!("127.0.0.1:{}", self.port));
        let headers = [("host", host.as_str()), ("authorization", bearer.as_str())];
        stream
            .write_all(&request("GET", &format!("/api/projects/{id}/live"), &headers, b""))
            .expect("it listens");
        Live(BufReader::new(stream))
    }
}

impl Drop for App {
    fn drop(&mut self) {
        // It may have been killed before.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The bytes of a request; the connection ends with the answer.
pub fn request(method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Vec<u8> {
    let mut head = format!("{method} {path} HTTP/1.1\r\nconnection: close\r\n");
    if !body.is_empty() {
        head += &format!("content-length: {}\r\n", body.len());
    }
    for (name, value) in headers {
        head += &format!("{name}: {value}\r\n");
    }
    [head.as_bytes(), b"\r\n", body].concat()
}

impl Answer {
    /// Reads an answer to its end.
    pub fn read(mut stream: TcpStream) -> std::io::Result<Answer> {
        let mut bytes = Vec::new();
        stream.read_to_end(&mut bytes)?;
        let end = bytes.windows(4).position(|four| four == b"\r\n\r\n");
        let end = end.ok_or(std::io::ErrorKind::UnexpectedEof)?;
        let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
        let mut lines = head.lines();
        let status = lines.next().and_then(|line| line.split(' ').nth(1)?.parse().ok());
        let headers = lines.filter_map(|line| line.split_once(": "));
        Ok(Answer {
            status: status.ok_or(std::io::ErrorKind::InvalidData)?,
            headers: headers.map(|(name, value)| (name.to_lowercase(), value.to_owned())).collect(),
            body: bytes[end + 4..].to_vec(),
        })
    }

    /// The body as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|error| panic!("{error}: {self:?}"))
    }

    /// A header.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.iter().find(|(other, _)| other == name).map(|(_, value)| value.as_str())
    }

    /// Whether it is a refusal in words.
    pub fn is_told(&self) -> bool {
        let told: Value = serde_json::from_slice(&self.body).unwrap_or_default();
        ["message", "help"].iter().all(|part| told[part].as_str().is_some_and(|words| !words.is_empty()))
    }
}

/// The events of a project.
pub struct Live(BufReader<TcpStream>);

impl Live {
    /// The next event of this name.
    pub fn next(&mut self, name: &str) -> Value {
        let wanted = format!("event: {name}");
        loop {
            if self.line() == wanted {
                let line = self.line();
                return serde_json::from_str(line.strip_prefix("data: ").expect("data")).expect("JSON");
            }
        }
    }

    fn line(&mut self) -> String {
        let mut line = String::new();
        assert!(self.0.read_line(&mut line).expect("a line") > 0, "the events ended");
        line.trim_end().to_owned()
    }
}
