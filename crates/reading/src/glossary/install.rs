//! From definitions to senses: the phrases in which a new term may stand.
//!
//! Knows that a stitch takes a number and a decrease seldom does; not how a definition was found.

use std::collections::BTreeSet;

use loops::Op;
use notation::{Context, From, Lexicon, Meaning, Printed, Sense, YarnTo};

use super::Definition;
use super::data::{DATA, Frame};
use super::term::{opens_with_verb, senses_of_words, several};

/// Nats against a term that is also a common word of English. Guess.
const ARTICLE: f64 = 0.4;
/// Nats against taking `wool forward` for a movement, as in the built-in senses.
const MOVED: f64 = 1.0;

/// The lexicon with the senses of some definitions.
pub(super) fn install(definitions: &[Definition], lexicon: &Lexicon) -> Lexicon {
    let builtin = lexicon;
    let mut lexicon = lexicon.clone();
    for definition in definitions.iter().filter(|definition| adds(definition, builtin)) {
        match &definition.meaning {
            Meaning::Stitches(ops) => add_stitch(&mut lexicon, definition, ops),
            meaning => add(
                &mut lexicon,
                definition,
                meaning.clone(),
                0.0,
                None,
                std::slice::from_ref(&definition.term),
            ),
        }
    }
    add_compounds(&mut lexicon, definitions);
    lexicon
}

/// Whether a definition may tell something new: a letter that the lexicon knows may be known in some phrases only, and a
/// term whose sense has a cost has none where the book says it.
fn adds(definition: &Definition, lexicon: &Lexicon) -> bool {
    let dear = || is_dear(lexicon, &definition.term);
    !definition.confirms || definition.context.is_none() && (definition.short || dear())
}

/// Whether every sense of exactly these words has a cost of its own.
fn is_dear(lexicon: &Lexicon, words: &str) -> bool {
    let senses = senses_of_words(lexicon, words);
    !senses.is_empty() && senses.iter().all(|(_, sense, _)| sense.cost > 0.0 && sense.choice.is_none())
}

fn add_stitch(lexicon: &mut Lexicon, definition: &Definition, ops: &[Op]) {
    let (head, number) = head_and_number(&definition.term);
    let head = optional_object(&head, lexicon);
    let context = definition.context;
    let meaning = Meaning::Stitches(ops.to_vec());
    if definition.confirms && !definition.short {
        return add(lexicon, definition, meaning, 0.0, context, std::slice::from_ref(&definition.term));
    }
    if let Some((phrase, name)) = counted_crossing(&definition.term, ops) {
        return add(lexicon, definition, Meaning::Family(name), 0.0, context, &[phrase]);
    }
    let family = matches!(ops, [op] if op.takes() > 1 && op.takes() == number.unwrap_or(1));
    // "k 2 tog": the number belongs to the term, and to the name of what is worked.
    let named = |number: &u32| *number > 1 && ops[0].to_string().contains(&number.to_string());
    if let Some(number) = number.filter(|number| family && named(number)) {
        let name = ops[0].to_string().replace(&number.to_string(), "{n}");
        let phrases = [format!("{head} {{n}} [stitches|together|tog]")];
        return add(lexicon, definition, Meaning::Family(name), 0.0, context, &phrases);
    }
    if number.is_some_and(|number| number > 1) {
        return add(lexicon, definition, meaning, 0.0, context, std::slice::from_ref(&definition.term));
    }
    let cost = definition.cost + if matches!(head.as_str(), "a" | "i") { ARTICLE } else { 0.0 };
    let short = head.chars().count() < 3;
    let fits = |frame: &&Frame| {
        let length = (!short || !frame.long || head.chars().count() == 2)
            && (short || definition.short || !frame.short);
        length && applies(frame, ops)
    };
    // A letter that the lexicon knows may be known in some phrases only; those keep all their readings.
    let lacks = |phrase: &String| !definition.confirms || !is_known(lexicon, &sample(phrase));
    let lacking = |frame: &'static Frame| -> (&Frame, Vec<String>) {
        (
            frame,
            frame
                .phrases
                .iter()
                .map(|phrase| phrase.replace("{T}", &head).replace("{Ts}", &several(&head)))
                .filter(lacks)
                .collect(),
        )
    };
    let frames: Vec<(&Frame, Vec<String>)> = DATA.frames.iter().filter(fits).map(lacking).collect();
    for (frame, phrases) in frames.iter().filter(|(_, phrases)| !phrases.is_empty()) {
        if let Some(meaning) = frame.meaning(ops) {
            add(lexicon, definition, meaning, cost + frame.cost, context, phrases);
        }
    }
    if context == Some(Context::Forward) {
        add(lexicon, definition, Meaning::Move(YarnTo::Front), MOVED, Some(Context::Move), &[head]);
    }
}

/// The shortest words that a phrase stands for: no options, the first of several alternatives.
fn sample(phrase: &str) -> String {
    let mut out = String::new();
    let mut skip = 0_u32;
    for letter in phrase.replace("{n}", "2").chars() {
        match letter {
            '[' => skip += 1,
            ']' => skip = skip.saturating_sub(1),
            '|' if skip == 0 => skip = 1,
            ')' => skip = 0,
            '(' => {}
            other if skip == 0 => out.push(other),
            _ => {}
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether the lexicon has a phrase of exactly these words.
fn is_known(lexicon: &Lexicon, words: &str) -> bool {
    let printed = |word: &str| Printed::within(word, lexicon.word(word));
    let all: Vec<Printed> = words.split(' ').map(printed).collect();
    let mut found = Vec::new();
    lexicon.matches(&all, 0, &mut found);
    found.iter().any(|(found, _)| found.len == all.len())
}

/// "To close a bead", where the rows say "close": what a new verb is done to may be left out.
fn optional_object(head: &str, lexicon: &Lexicon) -> String {
    let words: Vec<String> = head.split(' ').map(str::to_owned).collect();
    let new = |verb: &&str| {
        [(*verb).to_owned(), format!("{verb} 1")]
            .iter()
            .all(|words| senses_of_words(lexicon, words).is_empty())
    };
    match opens_with_verb(&words).filter(new) {
        Some(verb) => format!("{verb} [[(a|an|the)] {}]", words[2..].join(" ")),
        None => head.to_owned(),
    }
}

/// "Twist 6 to the right", "C. 6": a crossing of two halves that is called by its number may be had of other widths.
fn counted_crossing(term: &str, ops: &[Op]) -> Option<(String, String)> {
    let [Op::Cross(cross)] = ops else { return None };
    let width = cross.width().to_string();
    let words: Vec<&str> = term.split(' ').collect();
    let at = words.iter().position(|word| *word == width)?;
    let (before, after) = (words[..at].join(" "), words[at + 1..].join(" "));
    let halves = cross.held == cross.worked;
    let name = Op::Cross(*cross).to_string();
    let name = name.replacen(&format!("c{0}/{0}", cross.held), "c{h}/{h}", 1);
    let phrase = format!("{before} [the] [next|following] {{n}} [{{st}}] {after}");
    (halves && !before.is_empty()).then(|| (phrase.trim().to_owned(), name))
}

fn head_and_number(term: &str) -> (String, Option<u32>) {
    let parts =
        term.rsplit_once(' ').and_then(|(head, number)| Some((head.to_owned(), number.parse().ok()?)));
    parts.map_or_else(|| (term.to_owned(), None), |(head, number)| (head, Some(number)))
}

/// Whether a term for these operations may stand in the phrases of a frame.
fn applies(frame: &Frame, ops: &[Op]) -> bool {
    let (takes, makes) =
        ops.iter().fold((0, 0), |(takes, makes), op| (takes + op.takes(), makes + op.makes()));
    let kind = match ops {
        [op] if op.takes() == 1 && op.makes() == 1 => "each",
        [Op::Yo] => "over",
        [_] if makes < takes => "less",
        [_] if makes > takes => "more",
        _ => "any",
    };
    // No row is slipped from end to end.
    let idle = frame.works_a_row() && matches!(ops, [Op::Slp | Op::Slk]);
    // What is worked as one name: several stitches, or one that is no plain one of its kind.
    let piece = frame.applies == "piece" && matches!(kind, "any" | "more");
    !idle && frame.applies == kind
        || piece
        || frame.applies == "all"
        || matches!(ops, [op] if frame.applies == op.to_string())
}

fn add(
    lexicon: &mut Lexicon,
    definition: &Definition,
    meaning: Meaning,
    cost: f64,
    context: Option<Context>,
    phrases: &[String],
) {
    let sense = Sense {
        id: format!("glossary-{}", definition.term.replace(' ', "-")),
        meaning,
        cost,
        choice: definition.choice.clone(),
        context,
        period: (0, u16::MAX),
        place: "this book".to_owned(),
        source: definition.words.clone(),
        from: From::Glossary,
        phrases: phrases.to_vec(),
    };
    // Words of a term are letters and figures, so that the phrases are well formed; one that is not is left out.
    let _ = lexicon.add(sense);
}

/// Phrases such as "slip 1, P 1, pass the slipped stitch over", where P is plain.
fn add_compounds(lexicon: &mut Lexicon, definitions: &[Definition]) {
    let single = |definition: &Definition| match definition.meaning {
        Meaning::Stitches(ref ops) if ops.len() == 1 => Some(ops[0]),
        _ => None,
    };
    let news = |definition: &&Definition| {
        !definition.confirms && matches!(single(definition), Some(Op::K | Op::P | Op::Slp))
    };
    let Some(first) = definitions.iter().find(news) else { return };
    let words = |op: Op, usual: &[&str]| {
        let mut all: BTreeSet<String> = usual.iter().map(|word| (*word).to_owned()).collect();
        for definition in definitions {
            let (head, _) = head_and_number(&definition.term);
            if single(definition) == Some(op) {
                all.insert(head);
            } else {
                all.remove(&head);
            }
        }
        format!("({})", all.into_iter().collect::<Vec<_>>().join("|"))
    };
    let knit = words(Op::K, &["knit", "k", "kn", "plain"]);
    let purl = words(Op::P, &["purl", "pearl", "seam", "p"]);
    let slip = words(Op::Slp, &["slip", "sl", "s"]);
    for compound in &DATA.compounds {
        let Ok(op) = compound.op.parse() else { continue };
        let fill = |phrase: &String| {
            phrase.replace("{knit}", &knit).replace("{purl}", &purl).replace("{slip}", &slip)
        };
        let phrases: Vec<String> = compound.phrases.iter().map(fill).collect();
        add(lexicon, first, Meaning::Stitches(vec![op]), 0.0, None, &phrases);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sample_is_the_shortest_form() {
        for (phrase, shortest) in [
            ("b {n} [stitches|st] (together|tog)", "b 2 together"),
            ("(b|all b|b all)", "b"),
            ("b (the next|a) [stitch]", "b the next"),
        ] {
            assert_eq!(sample(phrase), shortest);
        }
    }
}
