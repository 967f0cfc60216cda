//! Texts say what the programs do, and say the same for the same seed.

use prose::{Dialect, Kind, Rng, outcome, program_of, random_program, write};
use span::Span;

const SEEDS: u64 = 400;

/// What the parts of a text do is what the program does, row by row.
#[test]
fn what_is_told_comes_out_as_the_program_does() {
    for dialect in Dialect::all().unwrap() {
        for seed in 0..SEEDS {
            let prose = write(&random_program(seed), &dialect, seed);
            for (index, row) in prose.rows.iter().enumerate() {
                let telling = prose.rows[row.as_row].telling.unwrap();
                let parts = &prose.tellings[telling].parts;
                let place = format!("{} {seed} row {}\n{}{parts:?}", dialect.name, index + 1, prose.text);
                assert_eq!(outcome(parts, row.before), Some(row.after), "{place}");
            }
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_text_and_another_seed_another() {
    for dialect in Dialect::all().unwrap() {
        let piece = random_program(3);
        let text = |seed| write(&piece, &dialect, seed).text;
        assert_eq!(text(11), text(11));
        assert!((0..10).any(|seed| text(seed) != text(11)), "{}", dialect.name);
    }
}

#[test]
fn spans_show_the_words_they_stand_for() {
    for dialect in Dialect::all().unwrap() {
        for seed in 0..SEEDS {
            let prose = write(&random_program(seed), &dialect, seed);
            let within =
                |span: Span| span.range().end <= prose.text.len() && !span.of(&prose.text).is_empty();
            for telling in &prose.tellings {
                assert!(telling.span.covers(telling.body), "{} {seed}", dialect.name);
                for said in prose::said(&telling.parts).into_iter().filter(|said| !said.span.is_detached()) {
                    assert!(within(said.span), "{} {seed} {said:?}", dialect.name);
                    let number = said.number.into_iter().chain(said.together);
                    assert!(number.into_iter().all(|number| said.span.covers(number)), "{said:?}");
                }
            }
        }
    }
}

#[test]
fn no_place_of_a_template_is_left_open() {
    for dialect in Dialect::all().unwrap() {
        for kind in Kind::ALL {
            for seed in 0..40 {
                let prose = write(&program_of(kind, &mut Rng::new(seed)), &dialect, seed);
                assert!(!prose.text.contains(['{', '}']), "{}", prose.text);
                assert!(!prose.text.contains(".."), "{}", prose.text);
                assert!(!prose.text.contains("  "), "{}", prose.text);
            }
        }
    }
}
