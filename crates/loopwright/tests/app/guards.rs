//! Whoever may not ask, asks too much, or sends what should do harm.

use std::io::{ErrorKind, Read, Write};

use serde_json::json;

use crate::app::{Answer, App, request};
use crate::{MISPRINTED, PNG, folder, insert};

#[test]
fn foreign_requests_are_refused() {
    let folder = folder();
    let app = App::start(folder.path());
    let (host, bearer) = (format!("127.0.0.1:{}", app.port), format!("Bearer {}", app.token));
    let status = |headers: &[(&str, &str)], path: &str| {
        let answer = app.raw("GET", path, headers, b"").unwrap();
        let told = answer.status == 200 || answer.is_told();
        assert!(told && answer.header("content-security-policy").is_some(), "{answer:?}");
        answer.status
    };
    let (own, token) = (("host", host.as_str()), ("authorization", bearer.as_str()));
    let api = "/api/projects";
    assert_eq!(status(&[own, token], api), 200);
    assert_eq!(status(&[own], api), 401, "no token");
    assert_eq!(status(&[own, ("authorization", "Bearer guess")], api), 401);
    let rebound = format!("evil.example:{}", app.port);
    for host in [rebound.as_str(), "evil.example", "127.0.0.1", "[::1]:80"] {
        assert_eq!(status(&[("host", host), token], api), 403, "{host}");
        assert_eq!(status(&[("host", host)], "/"), 403, "{host}");
    }
    for origin in ["http://evil.example", "null", "https://127.0.0.1"] {
        assert_eq!(status(&[own, token, ("origin", origin)], api), 403, "{origin}");
    }
    let own_origin = format!("http://{host}");
    assert_eq!(status(&[own, token, ("origin", own_origin.as_str())], api), 200);
    assert_eq!(status(&[own, token, ("sec-fetch-site", "cross-site")], api), 403);
}

#[test]
fn pages_may_load_nothing_from_elsewhere() {
    let folder = folder();
    let app = App::start(folder.path());
    let host = format!("127.0.0.1:{}", app.port);
    let page = app.raw("GET", "/", &[("host", &host)], b"").unwrap();
    assert_eq!(page.status, 200);
    let policy = page.header("content-security-policy").unwrap();
    for part in ["default-src 'self'", "script-src 'self'", "object-src 'none'", "frame-ancestors 'none'"] {
        assert!(policy.contains(part), "{policy}");
    }
    assert_eq!(page.header("x-content-type-options"), Some("nosniff"));
    assert_eq!(page.header("referrer-policy"), Some("no-referrer"));
    for path in [
        "/../../../../etc/passwd",
        "/%2e%2e/%2e%2e/Cargo.toml",
        "/..%5c..%5cCargo.toml",
        "/assets/..//..//x.js",
    ] {
        let answer = app.raw("GET", path, &[("host", &host)], b"").unwrap();
        let body = String::from_utf8_lossy(&answer.body);
        assert!(!body.contains("root:") && !body.contains("[package]"), "{path}: {body}");
    }
}

#[test]
fn too_much_is_refused_in_words() {
    let folder = folder();
    let app = App::start(folder.path());
    let long = "k".repeat(2 * 1024 * 1024 + 1);
    let made = app.ask("POST", "/api/projects", Some(&json!({ "text": long })));
    assert_eq!((made.status, made.is_told()), (413, true));
    let huge = vec![b' '; 50 * 1024 * 1024];
    let made = app.send("POST", "/api/projects", "application/json", &huge);
    assert_eq!((made.status, made.is_told()), (413, true));
    let id = app.project("knit");
    let answer = app.change(&id, 0, &insert(0, &long));
    assert_eq!((answer.status, answer.is_told()), (413, true));
    let picture = [PNG, vec![0; 33 * 1024 * 1024].as_slice()].concat();
    let answer = app.send("POST", &format!("/api/projects/{id}/pages"), "image/png", &picture);
    assert_eq!((answer.status, answer.is_told()), (413, true));
    assert_eq!(app.state(&id)["project"]["text"], "knit");
}

#[test]
fn a_thousand_requests_at_once_are_all_answered() {
    let folder = folder();
    let app = App::start(folder.path());
    let id = app.project(MISPRINTED);
    let (host, bearer) = (format!("127.0.0.1:{}", app.port), format!("Bearer {}", app.token));
    let headers = [("host", host.as_str()), ("authorization", bearer.as_str())];
    let paths =
        ["/api/projects".to_owned(), format!("/api/projects/{id}"), format!("/api/projects/{id}/view")];
    // All are sent before the first answer is read.
    let streams: Vec<_> = (0..1000)
        .map(|place| {
            let mut stream = app.connect().unwrap();
            stream.write_all(&request("GET", &paths[place % paths.len()], &headers, b"")).unwrap();
            stream
        })
        .collect();
    for stream in streams {
        assert_eq!(Answer::read(stream).unwrap().status, 200);
    }
}

#[test]
fn text_full_of_markup_stays_text() {
    const EVIL: &str = "<script>alert(1)</script><img src=x onerror=alert(2)>";
    let folder = folder();
    let app = App::start(folder.path());
    let text =
        format!("{EVIL}\n\nCast on 12 stitches.\n\n1st row.--Knit {EVIL} 3, knit 9.\n\n2nd row.--Purl.\n");
    let id = app.project(&text);
    assert_eq!(app.state(&id)["project"]["text"], text);
    let view = app.view(&id);
    for piece in view["pieces"].as_array().unwrap() {
        for drawing in ["chart", "key"] {
            let svg = piece[drawing].as_str().unwrap();
            let svg = roxmltree::Document::parse(svg).unwrap();
            let named = |name: &str| svg.descendants().any(|node| node.tag_name().name() == name);
            assert!(!named("script") && !named("img"), "{drawing}");
        }
    }
    assert_eq!(app.ask("GET", &format!("/api/projects/{id}/booklet.pdf"), None).status, 200);
}

#[test]
fn a_zip_that_leads_out_of_the_folder_is_refused() {
    let folder = folder();
    let app = App::start(folder.path());
    let id = app.project("knit");
    let zip = app.ask("GET", &format!("/api/projects/{id}/bundle.zip"), None).body;
    let evil = replaced(&zip, b"text.txt", b"../t.txt");
    assert_ne!(zip, evil);
    let before = std::fs::read_dir(folder.path().parent().unwrap()).unwrap().count();
    for bytes in [evil.as_slice(), b"", b"PK\x03\x04 no zip", &zip[..zip.len() / 2]] {
        let answer = app.send("POST", "/api/import", "application/zip", bytes);
        assert_eq!((answer.status, answer.is_told()), (422, true), "{answer:?}");
    }
    assert_eq!(std::fs::read_dir(folder.path().parent().unwrap()).unwrap().count(), before);
    assert_eq!(app.ask("GET", "/api/projects", None).json().as_array().unwrap().len(), 1);
}

/// The bytes with one word for another of the same length, wherever it stands.
fn replaced(bytes: &[u8], from: &[u8], to: &[u8]) -> Vec<u8> {
    let mut out = bytes.to_vec();
    for at in 0..out.len().saturating_sub(from.len()) {
        if out[at..].starts_with(from) {
            out[at..at + to.len()].copy_from_slice(to);
        }
    }
    out
}

#[test]
fn a_connection_that_never_says_what_it_wants_is_ended() {
    let folder = folder();
    let app = App::start(folder.path());
    let slow: Vec<_> = (0..200).map(|_| app.connect().unwrap()).collect();
    for mut connection in &slow {
        connection.write_all(b"GET / HTTP/1.1\r\nhost: 127.0.0.1\r\nx-slow: a").unwrap();
    }
    assert_eq!(app.ask("GET", "/api/projects", None).status, 200, "nobody waits for them");
    for mut connection in slow {
        let mut rest = Vec::new();
        // Ended, or reset; a wait that has no end would be an error of another kind.
        let ended = connection.read_to_end(&mut rest);
        let reset = ended.as_ref().is_err_and(|error| error.kind() == ErrorKind::ConnectionReset);
        assert!(ended.is_ok() || reset, "{ended:?}");
    }
}
