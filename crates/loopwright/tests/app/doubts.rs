//! Doubts, and what is decided about them.

use serde_json::{Value, json};

use crate::app::App;
use crate::{MISPRINTED, folder};

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
fn what_a_reading_changes_is_drawn_before_and_after() {
    let folder = folder();
    let app = App::start(folder.path());
    let id = app.project(MISPRINTED);
    let correction = |view: &Value| {
        let mut doubts = view["doubts"].as_array().unwrap().iter();
        doubts.find(|doubt| doubt["kind"] == "correction").cloned().expect("one misprint")
    };
    let asked = |doubt: &Value, of: &str, option: usize| {
        let key = doubt["key"].as_str().unwrap().replace(' ', "%20");
        app.ask("GET", &format!("/api/projects/{id}/{of}doubt={key}&option={option}"), None)
    };
    let found = correction(&app.view(&id));
    let drawn = asked(&found, "compared?", 0).json();
    for state in ["before", "after"] {
        let chart = drawn[state]["chart"].as_str().unwrap();
        assert!(chart.starts_with("<svg") && chart.contains("data-row"), "{chart}");
        assert_eq!(drawn[state]["changed"], json!([1, 2]), "row 3 stands on row 2");
        let cloth = asked(&found, &format!("compared/cloth.png?state={state}&"), 0);
        assert!(cloth.body.starts_with(b"\x89PNG"), "{cloth:?}");
    }
    assert_ne!(drawn["before"], drawn["after"]);
    // Taken, it is still told what the correction changed.
    app.change(&id, 0, &found["options"][0]["change"]);
    let taken = correction(&app.view(&id));
    assert_eq!(asked(&taken, "compared?", 0).json(), drawn);
    for (of, option, status) in [
        ("compared?", taken["options"].as_array().unwrap().len() - 1, 404),
        ("compared?", 99, 404),
        ("compared/cloth.png?state=never&", 0, 400),
        ("compared?piece=1&x", 0, 400),
    ] {
        let refused = asked(&taken, of, option);
        assert_eq!((refused.status, refused.is_told()), (status, true), "{of} {option}");
    }
}
