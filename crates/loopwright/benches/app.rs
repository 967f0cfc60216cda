//! How long the app takes, as the browser sees it: a keystroke in a pattern of sixty rows, the start, a full shelf.

#[path = "../tests/common/app.rs"]
#[allow(dead_code, reason = "the tests use more of it")]
mod app;

use std::cell::Cell;

use app::App;
use divan::Bencher;
use serde_json::{Value, json};

fn main() {
    divan::main();
}

/// Sixty rows told in full, two alike by turns.
fn sixty_rows() -> String {
    let mut text = "Cast on 23 stitches.\n\n".to_owned();
    for row in (1..=60).step_by(2) {
        let knit = 1 + row % 4;
        text.push_str(&format!(
            "{row}th row: Slip 1, knit {knit}, * make 1, knit 2 together, knit 1, slip 1, knit 1, pass the slipped \
             stitch over, make 1, knit 1; repeat from *, knit the rest.\n\n{}th row: Purled.\n\n",
            row + 1
        ));
    }
    text
}

/// One letter typed at the end of a row in the middle, until the answer with everything but the search is there.
#[divan::bench(sample_count = 200, sample_size = 1)]
fn a_keystroke_in_sixty_rows(bencher: Bencher<'_, '_>) {
    let folder = tempfile::tempdir().expect("a folder");
    let app = App::start(folder.path());
    let text = sixty_rows();
    let id = app.project(&text);
    app.view(&id);
    let at = text.find("31th row").expect("a row in the middle") - 2;
    let (base, late) = (Cell::new(0), Cell::new(0u32));
    bencher.bench_local(|| {
        let letter = json!([{ "do": "text", "at": at, "remove": 0, "insert": " " }]);
        let answer = app.change(&id, base.get(), &letter).json();
        base.set(answer["revision"].as_u64().expect("a revision"));
        late.set(late.get() + u32::from(answer["view"] == Value::Null));
    });
    println!("{} of {} answers came without their view", late.get(), base.get());
}

/// From the start of the program to the first page.
#[divan::bench(sample_count = 20, sample_size = 1)]
fn the_start_with_five_hundred_projects(bencher: Bencher<'_, '_>) {
    let folder = shelf_of_500();
    bencher.bench_local(|| {
        let app = App::start(folder.path());
        let host = format!("127.0.0.1:{}", app.port);
        let page = app.raw("GET", "/", &[("host", &host)], b"").expect("the page");
        assert_eq!(page.status, 200);
    });
}

/// The list of projects.
#[divan::bench(sample_count = 50, sample_size = 1)]
fn the_list_of_five_hundred_projects(bencher: Bencher<'_, '_>) {
    let folder = shelf_of_500();
    let app = App::start(folder.path());
    bencher.bench_local(|| app.ask("GET", "/api/projects", None).body.len());
}

fn shelf_of_500() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let app = App::start(folder.path());
    let text = sixty_rows();
    (0..500).for_each(|_| drop(app.project(&text)));
    folder
}
