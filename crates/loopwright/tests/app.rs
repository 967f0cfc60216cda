//! The app as the browser meets it: every route, every guard, and nothing lost whatever happens.

#[path = "common/app.rs"]
mod app;

use std::collections::BTreeSet;
use std::io::Write;
use std::sync::mpsc::channel;
use std::time::Duration;

use app::{Answer, App, request};
use serde_json::{Value, json};

/// A pattern whose third row does not come out.
const MISPRINTED: &str = "Cast on 12 stitches.\n\n1st row.--Knit 3, make 1, knit two together, knit 7.\n\n\
                          2nd row.--Purl.\n\n3rd row.--Knit 3, make 1, knit two together, knit 8.\n\n4th row.--Purl.\n";
/// The smallest PNG there is.
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\0\0\0\0:~\x9bU\0\0\0\nIDATx\x9cc`\0\0\0\x02\0\x01H\xaf\xa4q\0\0\0\0IEND\xaeB`\x82";

fn insert(at: usize, words: &str) -> Value {
    json!([{ "do": "text", "at": at, "remove": 0, "insert": words }])
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

#[test]
fn every_described_route_answers() {
    let folder = folder();
    let app = App::start_with(folder.path(), &["--demo"]);
    let name = json!({ "name": "before" });
    let step = json!({ "window": "w", "place": { "piece": 0, "time": 1, "row": 3, "stitch": 2 } });
    let count = json!({ "row": 23, "found": 24 });
    let seen = json!({ "count": 23 });
    let change = json!({ "base": 0, "window": "w", "changes": insert(0, "K") });
    let window = json!({ "window": "w" });
    let new = json!({ "title": "Another", "text": "Cast on 3." });
    let p = |path: &str| format!("/api/projects/1{path}");
    // How it is described, what is asked, with which body; what is answered, and of what kind.
    type Asked<'a> = (&'a str, &'a str, String, Option<&'a Value>, u16, &'a str);
    let ok: [Asked<'_>; 33] = [
        ("GET", "/api/projects", "/api/projects".to_owned(), None, 200, "application/json"),
        ("POST", "/api/projects", "/api/projects".to_owned(), Some(&new), 200, "application/json"),
        ("GET", "/api/projects/{id}", p(""), None, 200, "application/json"),
        ("POST", "/api/projects/{id}/changes", p("/changes"), Some(&change), 200, "application/json"),
        ("POST", "/api/projects/{id}/undo", p("/undo"), Some(&window), 200, "application/json"),
        ("POST", "/api/projects/{id}/redo", p("/redo"), Some(&window), 200, "application/json"),
        ("GET", "/api/projects/{id}/view", p("/view"), None, 200, "application/json"),
        ("GET", "/api/projects/{id}/pieces/{n}/chart", p("/pieces/0/chart"), None, 200, "image/svg+xml"),
        (
            "GET",
            "/api/projects/{id}/pieces/{n}/chart",
            p("/pieces/0/chart?side=wrong&revision=3"),
            None,
            200,
            "image/svg+xml",
        ),
        (
            "GET",
            "/api/projects/{id}/pieces/{n}/cloth.glb",
            p("/pieces/0/cloth.glb"),
            None,
            200,
            "model/gltf-binary",
        ),
        (
            "GET",
            "/api/projects/{id}/pieces/{n}/yarn.glb",
            p("/pieces/0/yarn.glb"),
            None,
            200,
            "model/gltf-binary",
        ),
        (
            "GET",
            "/api/projects/{id}/pieces/{n}/cloth.png",
            p("/pieces/2/cloth.png?face=wrong"),
            None,
            200,
            "image/png",
        ),
        ("POST", "/api/projects/{id}/labels", p("/labels"), Some(&name), 200, "application/json"),
        ("GET", "/api/projects/{id}/labels", p("/labels"), None, 200, "application/json"),
        ("GET", "/api/projects/{id}/labels/{revision}", p("/labels/3"), None, 200, "application/json"),
        (
            "GET",
            "/api/projects/{id}/labels/{revision}/view",
            p("/labels/3/view"),
            None,
            200,
            "application/json",
        ),
        ("GET", "/api/projects/{id}/booklet.pdf", p("/booklet.pdf"), None, 200, "application/pdf"),
        ("GET", "/api/projects/{id}/rows.txt", p("/rows.txt"), None, 200, "text/plain; charset=utf-8"),
        ("GET", "/api/projects/{id}/bundle.zip", p("/bundle.zip"), None, 200, "application/zip"),
        ("GET", "/api/projects/{id}/along", p("/along"), None, 200, "application/json"),
        ("PUT", "/api/projects/{id}/needles", p("/needles"), Some(&step), 200, "application/json"),
        ("GET", "/api/projects/{id}/needles", p("/needles"), None, 200, "application/json"),
        (
            "POST",
            "/api/projects/{id}/needles/undo",
            p("/needles/undo"),
            Some(&window),
            200,
            "application/json",
        ),
        (
            "POST",
            "/api/projects/{id}/needles/redo",
            p("/needles/redo"),
            Some(&window),
            200,
            "application/json",
        ),
        (
            "POST",
            "/api/projects/{id}/pieces/{n}/slips",
            p("/pieces/0/slips"),
            Some(&count),
            200,
            "application/json",
        ),
        (
            "POST",
            "/api/projects/{id}/pieces/{n}/fits",
            p("/pieces/0/fits"),
            Some(&seen),
            200,
            "application/json",
        ),
        ("GET", "/api/projects/{id}/phone.html", p("/phone.html"), None, 200, "text/html; charset=utf-8"),
        (
            "GET",
            "/api/projects/{id}/plan",
            p("/plan?start=2026-03-01&hours=1.5"),
            None,
            200,
            "application/json",
        ),
        ("DELETE", "/api/projects/{id}", p(""), None, 204, ""),
        ("POST", "/api/projects/{id}/restore", p("/restore"), None, 204, ""),
        ("GET", "/api/terms", "/api/terms".to_owned(), None, 200, "application/json"),
        ("GET", "/api/about", "/api/about".to_owned(), None, 200, "application/json"),
        ("GET", "/api/openapi.json", "/api/openapi.json".to_owned(), None, 200, "application/json"),
    ];
    let mut met: BTreeSet<(String, String)> = BTreeSet::new();
    for (method, described, path, body, status, kind) in &ok {
        let answer = app.ask(method, path, *body);
        assert_eq!(answer.status, *status, "{method} {path}: {}", String::from_utf8_lossy(&answer.body));
        assert_eq!(answer.header("content-type").unwrap_or(""), *kind, "{method} {path}");
        assert_eq!(answer.header("cache-control"), Some("no-store"), "{method} {path}");
        met.insert((method.to_lowercase(), (*described).to_owned()));
    }
    // Pages, the zip that comes back, events and the small picture need more than one request.
    let added = app.send("POST", &p("/pages?name=scan.png"), "image/png", PNG).json();
    let page = app.ask("GET", &p(&format!("/pages/{}", added["page"])), None);
    assert_eq!(
        (page.status, page.header("content-type"), page.body.as_slice()),
        (200, Some("image/png"), PNG)
    );
    let zip = app.ask("GET", &p("/bundle.zip"), None).body;
    let imported = app.send("POST", "/api/import", "application/zip", &zip).json();
    let copy = app.state(imported["id"].as_str().unwrap())["project"].clone();
    assert_eq!(copy, app.state("1")["project"], "a project taken home and brought back is the same");
    let mut live = app.live("1");
    live.next("cloth");
    let picture = app.ask("GET", &p("/picture.png"), None);
    assert!(picture.status == 404 || picture.body.starts_with(b"\x89PNG"), "{picture:?}");
    let apart = [
        "get /api/projects/{id}/live",
        "post /api/projects/{id}/pages",
        "get /api/projects/{id}/pages/{page}",
    ];
    let apart = apart.into_iter().chain(["post /api/import", "get /api/projects/{id}/picture.png"]);
    met.extend(
        apart.filter_map(|one| one.split_once(' ')).map(|(one, other)| (one.to_owned(), other.to_owned())),
    );
    let description = app.ask("GET", "/api/openapi.json", None).json();
    let paths = description["paths"].as_object().unwrap().iter();
    let described = paths.flat_map(|(path, item)| {
        item.as_object().unwrap().keys().map(|method| (method.clone(), path.clone())).collect::<Vec<_>>()
    });
    assert_eq!(met, described.collect());
}

#[test]
fn what_is_not_there_is_refused_in_words() {
    let folder = folder();
    let app = App::start(folder.path());
    let id = app.project("Cast on 3.");
    let window = json!({ "window": "w" });
    let p = |path: &str| format!("/api/projects/{id}{path}");
    for (method, path, body, status) in [
        ("GET", "/api/nothing".to_owned(), None, 404),
        ("GET", "/api".to_owned(), None, 404),
        ("GET", "/api/projects/99".to_owned(), None, 404),
        ("GET", "/api/projects/1e3".to_owned(), None, 404),
        ("GET", "/api/projects/-1".to_owned(), None, 404),
        ("GET", "/api/projects/%ff/view".to_owned(), None, 404),
        ("GET", "/api/projects/99999999999999999999".to_owned(), None, 404),
        ("POST", "/api/projects/99/undo".to_owned(), Some(&window), 404),
        ("PATCH", p(""), None, 405),
        ("GET", p("/pieces/0/chart?side=top"), None, 400),
        ("GET", p("/pieces/5/chart"), None, 404),
        ("GET", p("/pieces/x/cloth.png"), None, 404),
        ("GET", p("/labels/9"), None, 404),
        ("GET", p("/pages/9"), None, 404),
        ("GET", p("/booklet.pdf"), None, 422),
        ("GET", p("/rows.txt"), None, 422),
    ] {
        let answer = app.ask(method, &path, body);
        assert_eq!(answer.status, status, "{method} {path}");
        assert!(answer.is_told(), "{method} {path}: {}", String::from_utf8_lossy(&answer.body));
    }
}

#[test]
fn nonsense_is_refused_and_changes_nothing() {
    let folder = folder();
    let app = App::start(folder.path());
    let id = app.project("½ knit");
    let before = app.state(&id);
    let ruling = json!({ "at": [5, 2], "printed": "", "corrected": "", "taken": true });
    for changes in [
        json!([{ "do": "text", "at": 99, "remove": 0, "insert": "" }]),
        json!([{ "do": "text", "at": 0, "remove": 4294967295u32, "insert": "" }]),
        json!([{ "do": "text", "at": -1, "remove": 0, "insert": "" }]),
        json!([{ "do": "set", "field": "cast_on", "value": 0 }]),
        json!([{ "do": "set", "field": "gauge", "value": { "stitches": 0, "rows": -3 } }]),
        json!([{ "do": "set", "field": "nothing", "value": "a" }]),
        json!([{ "do": "rule", "ruling": ruling }]),
        json!([{ "do": "unrule", "at": [0, 1], "corrected": "a" }]),
        json!([{ "do": "remove_page", "page": 7 }]),
        json!([{ "do": "fly" }]),
        json!("changes"),
        json!([insert(0, "first")[0], { "do": "remove_page", "page": 7 }]),
    ] {
        let answer = app.change(&id, 0, &changes);
        assert_eq!(answer.status, 422, "{changes}: {}", String::from_utf8_lossy(&answer.body));
        assert!(answer.is_told());
    }
    for body in ["", "{", "null", "[]", "[0,\"w\",null,[]]", "{\"base\":0}"] {
        let answer =
            app.send("POST", &format!("/api/projects/{id}/changes"), "application/json", body.as_bytes());
        assert_eq!(answer.status, 422, "{body}");
    }
    let answer = app.send("POST", "/api/projects", "text/plain", b"{}");
    assert_eq!(answer.status, 415);
    let answer = app.send("POST", &format!("/api/projects/{id}/pages"), "image/png", b"no picture");
    assert_eq!((answer.status, answer.is_told()), (422, true));
    assert_eq!(app.state(&id), before);
}

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
fn a_correction_is_taken_refused_and_left_open_again() {
    let folder = folder();
    let app = App::start(folder.path());
    let id = app.project(MISPRINTED);
    let doubt = |view: &Value| {
        let doubts = view["doubts"].as_array().unwrap().iter();
        doubts.filter(|doubt| doubt["kind"] == "correction").cloned().collect::<Vec<_>>()
    };
    let row = |view: &Value| view["pieces"][0]["rows"][2]["written"].clone();
    let view = app.view(&id);
    let [found] = doubt(&view).try_into().expect("one misprint");
    assert_eq!(found["place"], "Row 3");
    let options = found["options"].as_array().unwrap();
    let take = options[0]["change"].clone();
    assert_eq!(options[0]["rows"][0]["label"], "3");
    let taken = app.change(&id, 0, &take).json();
    assert_eq!(taken["undo"], "a correction taken");
    let view = app.view(&id);
    let [now] = doubt(&view).try_into().expect("the same doubt");
    assert_eq!((&now["state"], &now["key"]), (&json!("taken"), &found["key"]));
    assert_eq!(row(&view), options[0]["rows"][0]["after_written"]);
    assert!(view["pieces"][0]["rows"][2]["fault"].is_null());
    let as_printed = now["options"].as_array().unwrap().last().unwrap()["change"].clone();
    assert_eq!(app.change(&id, 1, &as_printed).json()["undo"], "a correction refused");
    let view = app.view(&id);
    let refused = doubt(&view).into_iter().find(|doubt| doubt["key"] == found["key"]).unwrap();
    assert_eq!((&refused["state"], &refused["title"]), (&json!("refused"), &json!("Row 3: left as printed")));
    assert_eq!(row(&view), options[0]["rows"][0]["before_written"]);
    assert!(view["pieces"][0]["rows"].as_array().unwrap().iter().any(|row| !row["fault"].is_null()));
    for _ in 0..2 {
        app.ask("POST", &format!("/api/projects/{id}/undo"), Some(&json!({ "window": "w" })));
    }
    let view = app.view(&id);
    assert_eq!(doubt(&view), [found]);
}

#[test]
fn places_are_those_of_the_browser() {
    let folder = folder();
    let app = App::start(folder.path());
    let text = format!("🧶 ½ oz.—\n\n{MISPRINTED}");
    let id = app.project(&text);
    let view = app.view(&id);
    let units: Vec<u16> = text.encode_utf16().collect();
    let words = |at: &Value| {
        let place = |end: usize| at[end].as_u64().unwrap() as usize;
        String::from_utf16(&units[place(0)..place(1)]).unwrap()
    };
    let row = &view["pieces"][0]["rows"][0];
    assert!(words(&row["at"]).starts_with("1st row"), "{}", words(&row["at"]));
    assert_eq!(words(&row["stitches"][0]), "Knit 3");
    assert_eq!(row["stitches"][0][2], 3);
    let at = text[..text.find("Knit 3").unwrap()].encode_utf16().count();
    let changed = app.change(&id, 0, &json!([{ "do": "text", "at": at, "remove": 4, "insert": "🧶" }]));
    assert_eq!(changed.status, 200);
    assert_eq!(app.state(&id)["project"]["text"], text.replacen("Knit", "🧶", 1));
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

#[test]
fn a_step_at_the_needles_is_told_to_other_windows_and_leaves_the_project_alone() {
    let folder = folder();
    let app = App::start_with(folder.path(), &["--demo"]);
    let mut other = app.live("1");
    other.next("view");
    let place = json!({ "piece": 2, "time": 3, "row": 4, "stitch": 0 });
    app.ask("PUT", "/api/projects/1/needles", Some(&json!({ "window": "one", "place": place })));
    let told = other.next("needles");
    assert_eq!(
        told,
        json!({ "window": "one", "needles": { "places": [place], "undo": true, "redo": false } })
    );
    assert_eq!(app.state("1")["revision"], 0);
}

#[test]
fn the_list_counts_the_doubts_that_the_page_counts() {
    let folder = folder();
    let app = App::start(folder.path());
    // Something to decide, something assumed, something not understood.
    let id = app.project("Cast on 9.\n\n1st row.--Knit 3, gurble, make 1, knit 2 together, knit 3.\n");
    let mut live = app.live(&id);
    let view = app.ask("GET", &format!("/api/projects/{id}/view"), None).json();
    live.next("cloth");
    let list = app.ask("GET", "/api/projects", None).json();
    let entry = list.as_array().unwrap().iter().find(|entry| entry["id"] == id.as_str()).unwrap().clone();
    assert_eq!(entry["open_doubts"], view["open_doubts"]);
    let is_unread = |doubt: &Value| doubt["kind"] == "unread";
    assert!(view["doubts"].as_array().unwrap().iter().any(is_unread), "{view}");
}

#[test]
fn a_wrong_count_and_a_lost_place_are_answered_in_words() {
    let folder = folder();
    let app = App::start_with(folder.path(), &["--demo"]);
    let along = app.ask("GET", "/api/projects/1/along", None).json();
    let square = &along["pieces"][0];
    let (row, ops) = (&square["rows"][22], |row: &Value| row["groups"].as_array().unwrap().clone());
    assert_eq!(row["after"], 25);
    assert!(ops(row).windows(2).all(|pair| pair[0]["ops"][1] == pair[1]["ops"][0]));

    let ask =
        |path: &str, body: Value| app.ask("POST", &format!("/api/projects/1/pieces/{path}"), Some(&body));
    let told = json!({ "row": 23, "found": 24, "yarn_overs": 12, "loose_loop": true, "holes_below": 0 });
    let slips = ask("0/slips", told).json();
    assert_eq!(slips["slips"][0]["title"], "A stitch was dropped", "{slips}");
    let slips = ask("0/slips", json!({ "row": 23, "found": 24, "wrong_from": 4 })).json();
    assert_eq!(slips["expected"], 25);
    assert_eq!(slips["slips"][0]["title"], "A yarn over was forgotten");
    assert_eq!(slips["slips"][0]["at"], "stitch 4 (repeat 2 of 12)");
    assert_eq!(slips["slips"][0]["place"], json!({ "piece": 0, "time": 1, "row": 23, "stitch": 3 }));
    let right = ask("0/slips", json!({ "row": 23, "found": 25 })).json();
    assert_eq!(right["slips"], json!([]));

    let fits = ask("0/fits", json!({ "count": 23, "side": "right", "above_holes": 3 })).json();
    let place = &fits["fits"][0]["place"];
    assert_eq!(place["piece"], 0);
    let was_in = ask("0/fits", json!({ "count": 23, "was_in": 10 })).json();
    let rows: Vec<u64> =
        was_in["fits"].as_array().unwrap().iter().map(|fit| fit["place"]["row"].as_u64().unwrap()).collect();
    assert!(rows.iter().all(|row| *row <= 10), "{rows:?}");
    // In the border, whose rows are worked over and over, a place is found in any time through.
    let border = ask("2/fits", json!({ "time": 3, "was_in": 2, "height": 41 })).json();
    assert_eq!(
        border["fits"][0]["place"],
        json!({ "piece": 2, "time": 3, "row": 2, "stitch": 0 }),
        "{border}"
    );

    for (path, body) in [
        ("9/fits", json!({})),
        ("0/slips", json!({ "row": 0, "found": 3 })),
        ("0/slips", json!({ "row": 999, "found": 3 })),
        ("2/fits", json!({ "time": u32::MAX })),
    ] {
        let refused = ask(path, body);
        assert!((400..500).contains(&refused.status), "{path}: {}", refused.status);
    }
}

#[test]
fn a_plan_is_worked_out_or_says_what_it_lacks() {
    let folder = folder();
    let app = App::start_with(folder.path(), &["--demo"]);
    let made = app.ask("GET", "/api/projects/1/plan?start=2026-12-01&hours=2", None).json();
    assert_eq!(made["problem"], Value::Null);
    let made = &made["made"];
    assert!(made["schematic"].as_str().unwrap().starts_with("<svg"), "{made}");
    assert_eq!(
        (&made["time"]["measured"], &made["time"]["tasks"][0]["days"][0]),
        (&json!(false), &json!("2026-12-01"))
    );
    assert_eq!(app.ask("GET", "/api/projects/1/plan?start=soon", None).status, 400);

    let id = app.project("Cast on 4.\n\n1st row.--Knit 4.\n");
    let plan = format!("/api/projects/{id}/plan");
    let begun = app.ask("GET", &plan, None).json();
    assert_eq!((&begun["made"], &begun["problem"]), (&Value::Null, &Value::Null));
    app.change(&id, 0, &json!([{ "do": "set", "field": "plan", "value": begun["beginning"] }]));
    let lacks = app.ask("GET", &plan, None).json();
    assert!(lacks["problem"]["help"].as_str().unwrap().contains("swatch"), "{lacks}");
    let gauge = json!({ "stitches": 20.5, "rows": 28.0 });
    app.change(&id, 1, &json!([{ "do": "set", "field": "gauge", "value": gauge }]));
    let beginning = app.ask("GET", &plan, None).json()["beginning"].clone();
    app.change(&id, 2, &json!([{ "do": "set", "field": "plan", "value": beginning }]));
    let made = app.ask("GET", &plan, None).json();
    assert_eq!(made["problem"], Value::Null, "{made}");
    assert_eq!(made["made"]["sections"][0]["kind"], "pieces");
}
