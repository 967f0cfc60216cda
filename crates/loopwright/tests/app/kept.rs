//! Nothing is lost, whatever happens: stale changes, two windows, restarts, kills.

use std::io::Write;
use std::sync::mpsc::channel;
use std::time::Duration;

use serde_json::{Value, json};

use crate::app::{Answer, App, request};
use crate::{MISPRINTED, folder, insert};

#[test]
fn a_stale_change_is_told_from_a_good_one() {
    let folder = folder();
    let app = App::start(folder.path());
    let id = app.project("knit");
    assert_eq!(app.change(&id, 0, &insert(4, " 3")).status, 200);
    let stale = app.change(&id, 0, &insert(0, "x"));
    assert_eq!((stale.status, stale.is_told()), (409, true));
    assert_eq!(app.state(&id)["project"]["text"], "knit 3");
}

#[test]
fn two_windows_see_each_others_changes() {
    let folder = folder();
    let app = App::start(folder.path());
    let id = app.project(MISPRINTED);
    let mut other = app.live(&id);
    assert_eq!(other.next("state")["revision"], 0);
    assert_eq!(other.next("view")["searched"], true);
    assert_eq!(app.change(&id, 0, &insert(0, "A BORDER.\n\n")).status, 200);
    let state = other.next("state");
    assert_eq!(
        (&state["revision"], &state["window"], &state["undo"]),
        (&json!(1), &json!("one"), &json!("typing"))
    );
    let view = other.next("view");
    assert_eq!((&view["revision"], &view["searched"]), (&json!(1), &json!(true)));
    let cloth = other.next("cloth");
    assert_eq!(cloth["revision"], 1);
    assert!(cloth["pieces"][0]["size"].is_string() || cloth["pieces"][0]["error"].is_string());
}

#[test]
fn undo_goes_on_after_a_restart() {
    let folder = folder();
    let mut app = App::start(folder.path());
    let id = app.project("knit");
    app.change(&id, 0, &insert(4, " 3"));
    app.change(&id, 1, &json!([{ "do": "set", "field": "yarn", "value": "fleecy" }]));
    let place = json!({ "piece": 0, "time": 1, "row": 2, "stitch": 1 });
    let needles = format!("/api/projects/{id}/needles");
    app.ask("PUT", &needles, Some(&json!({ "window": "w", "place": place })));
    app.kill();
    let app = App::start(folder.path());
    assert_eq!(app.state(&id)["undo"], "the yarn");
    let undo =
        || app.ask("POST", &format!("/api/projects/{id}/undo"), Some(&json!({ "window": "w" }))).json();
    assert_eq!(undo()["project"]["yarn"], "");
    assert_eq!(undo()["project"]["text"], "knit");
    let kept = app.ask("GET", &needles, None).json();
    assert_eq!(kept, json!({ "places": [place], "undo": true, "redo": false }));
    let back = app.ask("POST", &format!("{needles}/undo"), Some(&json!({ "window": "w" }))).json();
    assert_eq!(back, json!({ "places": [], "undo": false, "redo": true }));
}

#[test]
fn a_file_becomes_a_project_once() {
    let folder = folder();
    let file = folder.path().join("old-pattern.txt");
    std::fs::write(&file, MISPRINTED).unwrap();
    let shelf = folder.path().join("shelf");
    for _ in 0..2 {
        let app = App::start_with(&shelf, &[file.to_str().unwrap()]);
        assert!(app.address.contains("/?project=1#"), "{}", app.address);
        let list = app.ask("GET", "/api/projects", None).json();
        assert_eq!((list.as_array().unwrap().len(), &list[0]["title"]), (1, &json!("Old pattern")));
    }
}

#[test]
fn a_second_start_shows_the_first() {
    let folder = folder();
    let app = App::start(folder.path());
    let again = || {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_loopwright"));
        command.args(["open", "--no-browser", "--shelf"]).arg(folder.path());
        command
    };
    let second = again().output().unwrap();
    let told = String::from_utf8(second.stdout).unwrap();
    assert!(second.status.success() && told.contains(&format!("http://127.0.0.1:{}/", app.port)), "{told}");
    assert!(!told.contains(&app.token));
    let file = folder.path().join("old.txt");
    std::fs::write(&file, MISPRINTED).unwrap();
    let second = again().arg(&file).output().unwrap();
    assert_eq!(second.status.code(), Some(1), "a text cannot be put on a shelf that another has open");
}

/// Kills the app at a random moment of each round of edits; every change that was acknowledged is there afterwards.
/// `LOOPWRIGHT_ROUNDS=200` asks for more rounds.
#[test]
fn a_killed_app_loses_nothing_it_acknowledged() {
    let rounds = std::env::var("LOOPWRIGHT_ROUNDS").ok().and_then(|rounds| rounds.parse().ok()).unwrap_or(8);
    let folder = folder();
    let mut app = App::start(folder.path());
    let id = app.project("");
    let mut acknowledged = 0u64;
    for round in 0..rounds {
        let (sender, acks) = channel();
        let (port, token) = (app.port, app.token.clone());
        let (typed, from) = (id.clone(), app.state(&id)["revision"].as_u64().unwrap());
        assert!(from >= acknowledged, "round {round}: {from} of {acknowledged}");
        let typing = std::thread::spawn(move || {
            let mut base = from;
            // Ends when the app is killed under it.
            while let Some(revision) = type_one(port, &token, &typed, base) {
                base = revision;
                if sender.send(base).is_err() {
                    break;
                }
            }
        });
        std::thread::sleep(Duration::from_micros(random(120_000)));
        app.kill();
        typing.join().unwrap();
        acknowledged = acks.try_iter().last().unwrap_or(acknowledged);
        app = App::start(folder.path());
        let state = app.state(&id);
        let (text, revision) =
            (state["project"]["text"].as_str().unwrap(), state["revision"].as_u64().unwrap());
        assert!(revision >= acknowledged, "round {round}: {revision} of {acknowledged}");
        let whole: String = (0..revision).map(|number| format!("{number};")).collect();
        assert_eq!(text, whole, "round {round}");
    }
    assert!(acknowledged > 0, "not one change was acknowledged");
}

/// Puts the number of a revision at the end of the text; gives the next revision once it is acknowledged.
fn type_one(port: u16, token: &str, id: &str, base: u64) -> Option<u64> {
    let at: usize = (0..base).map(|number| number.to_string().len() + 1).sum();
    let body = json!({ "base": base, "window": "one", "changes": insert(at, &format!("{base};")) });
    let (host, bearer) = (format!("127.0.0.1:{port}"), format!("Bearer {token}"));
    let headers = [("host", host.as_str()), ("authorization", &bearer), ("content-type", "application/json")];
    let body = serde_json::to_vec(&body).ok()?;
    let mut stream = std::net::TcpStream::connect(("127.0.0.1", port)).ok()?;
    stream.write_all(&request("POST", &format!("/api/projects/{id}/changes"), &headers, &body)).ok()?;
    let answer = Answer::read(stream).ok()?;
    assert_eq!(answer.status, 200, "{answer:?}");
    // An answer that was cut off is none.
    let told: Value = serde_json::from_slice(&answer.body).ok()?;
    told["revision"].as_u64()
}

/// A number below `limit`, other at every start.
fn random(limit: u64) -> u64 {
    use std::hash::{BuildHasher, Hasher, RandomState};
    RandomState::new().build_hasher().finish() % limit
}
