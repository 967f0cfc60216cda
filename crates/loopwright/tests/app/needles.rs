//! At the needles, and the making up.

use serde_json::{Value, json};

use crate::app::App;
use crate::folder;
use crate::slipped::{LACE, SLIPPED};

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
    let page = app.ask("GET", "/api/projects/1/phone.html", None).body;
    let page = String::from_utf8_lossy(&page);
    assert!(page.contains("made when you were at row 4 of THE BORDER, time 3"), "the file begins there");
}

#[test]
fn what_is_seen_of_a_slip_names_it_first() {
    let folder = folder();
    let app = App::start_with(folder.path(), &[]);
    let id = app.project(LACE);
    for slip in SLIPPED {
        let told = json!({
            "row": slip.row, "found": slip.found, "yarn_overs": slip.yarn_overs, "loose_loop": slip.loose_loop,
            "holes_below": slip.holes_below,
        });
        let named = app.ask("POST", &format!("/api/projects/{id}/pieces/0/slips"), Some(&told)).json();
        let first = &named["slips"][0];
        assert_eq!(
            (&first["title"], &first["row"]),
            (&json!(slip.title), &json!(slip.made_in)),
            "{told}: {named}"
        );
    }
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
    let open = ask("0/slips", json!({ "row": 23, "found": 24 })).json();
    let next = open["next"].as_str().unwrap();
    assert!(["yarn_overs", "loose_loop", "wrong_from"].contains(&next), "{next}");
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
    let made = app.ask("GET", "/api/projects/1/plan", None).json();
    assert_eq!(made["problem"], Value::Null);
    let (made, sides) = (&made["made"], &made["sides"]);
    assert!(made["schematic"].as_str().unwrap().starts_with("<svg"), "{made}");
    assert_eq!((&made["time"]["from"], &made["time"]["tasks"][0]["days"]), (&json!("guess"), &Value::Null));
    assert_eq!(sides[0], json!(["bottom", "right", "top", "left"]));

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

#[test]
fn a_form_fills_in_the_text_of_a_plan_and_the_text_a_form() {
    let folder = folder();
    let app = App::start_with(folder.path(), &["--demo"]);
    let before = app.ask("GET", "/api/projects/1", None).json()["project"]["plan"].clone();
    let read =
        |text: &Value| app.ask("POST", "/api/projects/1/plan/form", Some(&json!({ "text": text }))).json();
    let mut form = read(&before)["form"].clone();
    assert_eq!(
        (&form["pieces"][0]["of"], &form["block"][3][2]["piece"]),
        (&json!(1), &json!("square")),
        "{form}"
    );

    // What is changed in the form is changed in the text, and what follows from it; comments stay.
    form["block"][0][0]["turn"] = json!(1);
    form["pieces"][2]["of"] = json!(2);
    form["time"] = json!({ "start": "2026-12-01", "hours": 2.0, "pace": 30.0 });
    let written =
        app.ask("POST", "/api/projects/1/plan/text", Some(&json!({ "form": form, "before": before })));
    let text = written.json()["text"].clone();
    let says = |part: &str| text.as_str().unwrap().contains(part);
    assert!(says("square@90 square square") && says("of = 2") && says("# of plain fabric, washed"), "{text}");
    assert_eq!(read(&text)["form"], form);
    app.change("1", 0, &json!([{ "do": "set", "field": "plan", "value": text }]));
    form["pieces"][2]["of"] = json!(3);
    let asked = json!({ "form": form, "before": text });
    let text = app.ask("POST", "/api/projects/1/plan/text", Some(&asked)).json()["text"].clone();
    assert!(!text.as_str().unwrap().contains("of ="), "its name says which piece it is: {text}");
    app.change("1", 1, &json!([{ "do": "set", "field": "plan", "value": text }]));
    let made = app.ask("GET", "/api/projects/1/plan", None).json()["made"].clone();
    assert_eq!(
        (&made["time"]["from"], &made["time"]["tasks"][0]["days"][0]),
        (&json!("plan"), &json!("2026-12-01"))
    );

    // Nonsense is written down as well, and told where the plan is worked out.
    let mut odd = form.clone();
    (odd["pieces"][0]["of"], odd["ease"]) = (json!(0), json!(1e300));
    let asked = json!({ "form": odd, "before": "" });
    let text = app.ask("POST", "/api/projects/1/plan/text", Some(&asked)).json()["text"].clone();
    assert!(text.as_str().unwrap().contains("of = 0\n"), "{text}");
    assert!(read(&text)["problem"]["message"].as_str().unwrap().contains("eased"));

    // A text that is no plan says where; days and paces that nobody has are told.
    let broken = read(&json!("[[piece]]\nname = square\n"));
    assert!(
        broken["form"].is_null() && broken["problem"]["message"].as_str().unwrap().contains("line 2"),
        "{broken}"
    );
    for (time, word) in [
        (json!({ "start": "soon", "hours": null, "pace": null }), "no day"),
        (json!({ "start": null, "hours": 30.0, "pace": null }), "hours a day"),
        (json!({ "start": null, "hours": null, "pace": 0.0 }), "stitches a minute"),
    ] {
        form["time"] = time;
        let asked = json!({ "form": form, "before": "" });
        let text = app.ask("POST", "/api/projects/1/plan/text", Some(&asked)).json()["text"].clone();
        let revision = app.ask("GET", "/api/projects/1", None).json()["revision"].as_u64().unwrap();
        app.change("1", revision, &json!([{ "do": "set", "field": "plan", "value": text }]));
        let problem = app.ask("GET", "/api/projects/1/plan", None).json()["problem"].clone();
        assert!(problem["message"].as_str().unwrap().contains(word), "{problem}");
    }
}
