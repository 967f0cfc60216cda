//! Prints what a book says of its terms, what a text says, statement by statement, and the rows that come of it.
//!
//! `cargo run -p reading --example statements -- FILE [CAST_ON]`; of a checked reading (`.toml`) its `text` is
//! read with its `glossary`.

use reading::{Content, Options, Reader, StatementKind};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut args = std::env::args().skip(1);
    let file = args.next().ok_or("which file?")?;
    let text = std::fs::read_to_string(&file)?;
    let (glossary, text, cast_on) = if file.ends_with(".toml") {
        let gold: toml::Table = toml::from_str(&text)?;
        let field = |name| gold.get(name).and_then(toml::Value::as_str).unwrap_or("").to_owned();
        let open = gold.contains_key("multiple") || gold.contains_key("cast_on_chosen");
        let cast_on = gold.get("cast_on").and_then(toml::Value::as_integer).filter(|_| open);
        (field("glossary"), field("text"), cast_on.and_then(|count| u32::try_from(count).ok()))
    } else {
        (String::new(), text, None)
    };
    let cast_on = args.next().map(|count| count.parse()).transpose()?.or(cast_on);
    let lexicon = notation::Lexicon::builtin()?;
    let book = reading::senses_of(&glossary, &lexicon);
    print_terms(&book);
    for span in &book.not_understood {
        println!("term not understood: {}", span.of(&glossary).replace('\n', " "));
    }
    let within = reading::senses_within(&text, &lexicon);
    print_terms(&within);
    for span in within.sentences(&text) {
        println!("explains: {}", span.of(&text).replace('\n', " "));
    }
    let reader = Reader::for_text(&lexicon, &glossary, &text)?;
    let reading = reader.read(&text, &Options { cast_on, ..Options::default() });
    for statement in &reading.statements {
        let words = statement.span.of(&text).replace('\n', " ");
        match &statement.kind {
            StatementKind::Rows { rows, content, count, .. } => {
                println!("{:?} {} {count:?}\n      {words}", rows.which, told(content));
            }
            StatementKind::Loose(content) => println!("Loose {}\n      {words}", told(content)),
            StatementKind::Returns { after, content } => {
                println!("Returns after {:?} {}\n      {words}", after.which, told(content));
            }
            other => println!("{other:?}\n      {words}"),
        }
    }
    for span in &reading.unread {
        println!("unread {span:?} {}", span.of(&text).replace('\n', " "));
    }
    for decision in &reading.decisions {
        println!("decision {decision:?}");
    }
    for piece in &reading.pieces {
        println!(
            "cast on {} {:?} {:?} cost {:.2}",
            piece.piece.cast_on, piece.piece.multiple, piece.piece.worked, piece.path.cost
        );
        for (row, chosen) in piece.worked.rows.iter().zip(&piece.path.rows) {
            let fault = if chosen.fault { "  FAULT" } else { "" };
            println!("{:>4} {} [{}]{fault}", row.label, loops::tokens(&row.ops), row.after);
        }
    }
    Ok(())
}

fn print_terms(book: &reading::Glossary) {
    for definition in &book.definitions {
        println!("term {:?} {:?} {:?}", definition.term, definition.meaning, definition.context);
    }
    for respelling in &book.respellings {
        println!("term {:?} as {:?}", respelling.term, respelling.words);
    }
}

/// Takes and makes of the fixed part, then those of a round of each open part.
fn shape(shape: &reading::Shape) -> String {
    let sum = |sum: reading::Sum| format!("{} to {}", sum.takes, sum.makes);
    let open = shape.open.iter().map(|(round, until, _)| format!("; {} {until:?}", sum(*round)));
    sum(shape.fixed) + &open.collect::<String>()
}

fn told(content: &Content) -> String {
    match content {
        Content::Work(readings) => readings
            .iter()
            .take(4)
            .map(|(cost, seq)| format!("\n   {cost:.2} {}", shape(seq.shape())))
            .collect(),
        other => format!("{other:?}"),
    }
}
