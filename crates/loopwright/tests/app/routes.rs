//! Every route of the description, and what is refused as not there or as nonsense.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use crate::app::App;
use crate::{PNG, folder, insert};

/// What a doubt changes; the tests of doubts ask for it.
const COMPARED: [&str; 2] = ["get /api/projects/{id}/compared", "get /api/projects/{id}/compared/cloth.png"];

#[test]
fn every_described_route_answers() {
    let folder = folder();
    let app = App::start_with(folder.path(), &["--demo"]);
    let name = json!({ "name": "before" });
    let step = json!({ "window": "w", "place": { "piece": 0, "time": 1, "row": 3, "stitch": 2 } });
    let count = json!({ "row": 23, "found": 24 });
    let seen = json!({ "count": 23 });
    let plan_text = json!({ "text": "[[piece]]\nname = \"square\"\n" });
    let plan_form = json!({
        "form": {
            "ease": 5.0, "pieces": [], "block": [], "joins": [], "laid": [], "yarns": [], "needles": [],
            "stretches": [], "time": {},
        },
        "before": "",
    });
    let change = json!({ "base": 0, "window": "w", "changes": insert(0, "K") });
    let window = json!({ "window": "w" });
    let new = json!({ "title": "Another", "text": "Cast on 3." });
    let sum = json!({ "sum": "even", "changes": 7, "stitches": 50, "decrease": false, "worked": "flat" });
    let p = |path: &str| format!("/api/projects/1{path}");
    // How it is described, what is asked, with which body; what is answered, and of what kind.
    type Asked<'a> = (&'a str, &'a str, String, Option<&'a Value>, u16, &'a str);
    let ok: [Asked<'_>; 36] = [
        ("GET", "/api/projects", "/api/projects".to_owned(), None, 200, "application/json"),
        ("POST", "/api/projects", "/api/projects".to_owned(), Some(&new), 200, "application/json"),
        ("POST", "/api/sums", "/api/sums".to_owned(), Some(&sum), 200, "application/json"),
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
        ("GET", "/api/projects/{id}/plan", p("/plan"), None, 200, "application/json"),
        ("POST", "/api/projects/{id}/plan/form", p("/plan/form"), Some(&plan_text), 200, "application/json"),
        ("POST", "/api/projects/{id}/plan/text", p("/plan/text"), Some(&plan_form), 200, "application/json"),
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
    let apart = apart.chain(COMPARED);
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
