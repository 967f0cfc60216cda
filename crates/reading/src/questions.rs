//! Questions that hold for a whole book: is P plain or purl, is a thread wound twice one loop or two?
//!
//! Knows which questions the words of a text raise, and what speaks for an answer beforehand; not how a text is
//! read under one.

use std::collections::BTreeMap;

use loops::Op;
use notation::{Lexicon, Meaning, Printed};

use crate::fabric::Grain;
use crate::lattice::Answers;
use crate::lexer::{Gap, Token, TokenKind};
use crate::read::{Options, Reading};

/// The most combinations of answers that are tried.
const COMBINATIONS: usize = 16;
/// An answer dearer than another by so many nats beforehand is not tried: both give the same counts.
const SETTLED: f64 = 2.5;
/// Nats against a second letter for one stitch: a guess, books do not do that.
const TWO_LETTERS: f64 = 5.0;

/// A book-wide question with the answer in force.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// The question, such as the letter whose sense is open.
    pub question: String,
    /// The answers with the cost of the whole reading under each, the chosen one first.
    pub answers: Vec<(String, f64)>,
    /// What speaks for the chosen answer and against it, in plain words.
    pub why: Vec<String>,
}

/// The answers to each question, with their prior cost.
pub type Questions = BTreeMap<String, BTreeMap<String, f64>>;

/// The book-wide questions that the words of a text raise: answers with their prior cost.
pub fn questions(lexicon: &Lexicon, tokens: &[Token], options: &Options) -> Questions {
    let words: Vec<Printed> = tokens.iter().map(|token| token.printed(lexicon.word(&token.text))).collect();
    let mut questions: Questions = BTreeMap::new();
    let mut found = Vec::new();
    for at in 0..words.len() {
        lexicon.matches(&words, at, &mut found);
        for (one, id) in &found {
            let sense = lexicon.sense(*id);
            let Some((question, answer)) = &sense.choice else { continue };
            let brioche = question == "brioche"
                && !matches!(&sense.meaning, Meaning::Stitches(ops) if ops.contains(&Op::SlYo));
            let passed_over = question == "brioche" && is_passed_over(&tokens[at + one.len..]);
            if options.answers.contains_key(question) || brioche || passed_over {
                continue;
            }
            let answers = questions.entry(question.clone()).or_default();
            if question == "brioche" {
                let named = tokens.iter().any(|token| matches!(token.text.as_str(), "brioche" | "patent"));
                let alone = is_all_repeated(tokens, at, at + one.len);
                let prior = if alone { ALONE } else { 1.5 };
                let before = answers.get(answer).copied().unwrap_or(prior);
                answers.insert(answer.clone(), prior.min(before).min(if named { 0.3 } else { prior }));
                answers.insert("no".to_owned(), 0.0);
            } else {
                let prior = answers.entry(answer.clone()).or_insert(sense.cost);
                *prior = prior.max(sense.cost);
            }
        }
    }
    for (question, answers) in &mut questions {
        answers.iter_mut().for_each(|(answer, cost)| *cost += vocabulary_cost(question, answer, tokens));
    }
    questions
}

/// Nats against brioche where slipping with an over and two together are all that is repeated. Guess: that is the stitch as
/// books of the time tell it, and hardly any other.
const ALONE: f64 = -0.5;

/// Whether an over with the stitch slipped under it, and then two together, are all of what is repeated.
fn is_all_repeated(tokens: &[Token], from: usize, to: usize) -> bool {
    const TOGETHER: usize = 4;
    let begins = tokens[from].gap >= Gap::Colon
        || from.checked_sub(1).is_some_and(|before| tokens[before].kind == TokenKind::Star);
    let after = &tokens[to.min(tokens.len())..];
    let both =
        |token: &Token| matches!(token.text.as_str(), "together" | "tog" | "n" | "narrow" | "t" | "k2tog");
    let Some(end) = after.iter().take(TOGETHER).position(both) else { return false };
    let ends = |next: &Token| {
        next.kind == TokenKind::Star
            || next.gap >= Gap::Period
            || matches!(next.text.as_str(), "repeat" | "rep" | "repeating")
    };
    begins && after.get(end + 1).is_none_or(ends)
}

/// Whether the stitch slipped just before these tokens is passed over one of the next.
fn is_passed_over(tokens: &[Token]) -> bool {
    const OVER: [&str; 9] = ["pass", "pull", "draw", "psso", "bind", "slipped", "lift", "b", "passed"];
    tokens.iter().take(9).any(|token| OVER.contains(&token.text.as_str()))
}

/// Nats for or against an answer by the other words that the text uses: a book that counts stitches after K needs no P
/// for plain, one that counts them after purl or seam no P for purl. Guesses.
fn vocabulary_cost(question: &str, answer: &str, tokens: &[Token]) -> f64 {
    let uses = |words: &[&str]| tokens.iter().any(|token| words.contains(&token.text.as_str()));
    // A word that is counted with once or twice among many uses of the letter stands in some remark.
    let letters = counted_after(&[&question.to_lowercase()], tokens);
    let counts = |words: &[&str]| 4 * counted_after(words, tokens) > letters;
    match (question, answer) {
        ("P", "plain") if counts(&["k", "kn", "knit", "plain"]) => 4.0,
        ("P", "plain") if counts(&["purl", "pearl", "seam"]) => -4.0,
        ("P", "plain") if counts(&["s", "b"]) => -1.5,
        ("P", "plain") if uses(&["purl", "pearl", "seam", "purled", "pearled"]) => -1.0,
        ("P", "purl") if !uses(&["k", "knit", "plain", "kn"]) => 1.0,
        ("S", "slip") => {
            let named = if uses(&["sl", "slip"]) { 2.5 } else { 0.0 };
            named + if inside_rows("s", tokens) { 3.5 } else { 0.0 }
        }
        ("S", "seam") => {
            let named = if counts(&["purl", "pearl", "seam", "pl"]) { 4.0 } else { 0.0 };
            named + if inside_rows("s", tokens) { 0.0 } else { 3.0 }
        }
        ("make", "lifted") if made_by(&["lifting", "picking", "taking", "raising"], tokens) => -6.0,
        ("make", "over")
            if made_by(
                &["bringing", "putting", "throwing", "passing", "winding", "laying", "turning"],
                tokens,
            ) =>
        {
            -6.0
        }
        _ => 0.0,
    }
}

/// Whether the text says that a stitch is made by doing one of these: "make 1 by lifting the thread".
fn made_by(doing: &[&str], tokens: &[Token]) -> bool {
    const BETWEEN: usize = 4;
    let made = |token: &Token| matches!(token.text.as_str(), "make" | "made" | "m" | "making");
    let by = |at: usize| {
        let pair = tokens.get(at).zip(tokens.get(at + 1));
        pair.is_some_and(|(by, how)| by.text == "by" && doing.contains(&how.text.as_str()))
    };
    (0..tokens.len()).any(|at| made(&tokens[at]) && (at + 1..at + 1 + BETWEEN).any(by))
}

/// Whether a letter stands for more than the edge stitch: for several, or for one that does not begin its row, and is not
/// passed over the next.
fn inside_rows(letter: &str, tokens: &[Token]) -> bool {
    tokens.windows(2).enumerate().any(|(at, pair)| {
        let number = pair[1].number.filter(|_| pair[0].text == letter && pair[1].gap <= Gap::Point);
        let begins = pair[0].gap >= Gap::Colon;
        number.is_some_and(|number| number > 1 || !begins && !is_passed_over(&tokens[at + 2..]))
    })
}

/// How often stitches are counted after one of these words ("knit 3"), other than those worked together or passed over.
fn counted_after(words: &[&str], tokens: &[Token]) -> usize {
    let is =
        |at: usize, words: &[&str]| tokens.get(at).is_some_and(|token| words.contains(&token.text.as_str()));
    let counted = |at: &usize| {
        let at = *at;
        let numbered = tokens.get(at + 1).is_some_and(|next| next.number.is_some() && next.gap <= Gap::Point);
        let together =
            is(at + 2, &["together", "tog", "stitches", "sts"]) && is(at + 3, &["together", "tog"]);
        let passed = at > 1 && is(at - 2, &["slip", "sl", "s"]);
        is(at, words) && numbered && !together && !is(at + 2, &["together", "tog"]) && !passed
    };
    (0..tokens.len()).filter(counted).count()
}

/// Nats against two answers that would give one stitch two letters.
fn joint_cost(answers: &Answers) -> f64 {
    let is = |question: &str, answer: &str| answers.get(question).is_some_and(|given| given == answer);
    let purls = [("P", "purl"), ("S", "seam"), ("T", "turned")];
    let letters = purls.iter().filter(|(question, answer)| is(question, answer)).count();
    TWO_LETTERS * letters.saturating_sub(1) as f64
}

/// Every combination of answers with its prior cost.
pub fn combinations(questions: &Questions, options: &Options) -> Vec<(Answers, f64)> {
    let fixed: Answers =
        options.answers.iter().map(|(question, answer)| (question.clone(), answer.clone())).collect();
    // A sense whose question was not raised is only one part of a way of knitting that the text does not show.
    let mut all = vec![(fixed, 0.0)];
    if !questions.contains_key("brioche") {
        for (answers, _) in &mut all {
            answers.entry("brioche".to_owned()).or_insert_with(|| "no".to_owned());
        }
    }
    for (question, answers) in questions {
        let least = answers.values().copied().fold(f64::INFINITY, f64::min);
        let open = |prior: f64| matches!(question.as_str(), "brioche" | "wound") || prior < least + SETTLED;
        if all.len() * answers.len() > COMBINATIONS {
            continue;
        }
        all = all
            .iter()
            .flat_map(|(given, cost)| {
                answers.iter().filter(move |(_, prior)| open(**prior)).map(move |(answer, prior)| {
                    let mut given = given.clone();
                    given.insert(question.clone(), answer.clone());
                    (given, cost + prior)
                })
            })
            .collect();
    }
    all.iter_mut().for_each(|(answers, cost)| *cost += joint_cost(answers));
    all
}

/// A text read under one answer to every question.
pub struct Trial {
    answers: Answers,
    /// What came of it.
    pub reading: Reading,
    grain: Grain,
}

impl Trial {
    /// A trial with what its cloth says.
    pub fn of(answers: Answers, reading: Reading) -> Trial {
        let grain = Grain::of(&reading);
        Trial { answers, reading, grain }
    }

    /// Nats against it: words, arithmetic and cloth.
    pub fn cost(&self) -> f64 {
        self.reading.cost + self.grain.cost()
    }

    fn faults(&self) -> usize {
        let rows = self.reading.pieces.iter().flat_map(|piece| &piece.path.rows);
        rows.filter(|row| row.fault).count()
    }
}

/// What came of a question. An answer that was not tried costs what the best reading does, and as much more as it is
/// dearer beforehand: both give the same counts.
pub fn decision(question: &str, priors: &BTreeMap<String, f64>, best: usize, tried: &[Trial]) -> Decision {
    let mut answers: Vec<(String, f64)> = Vec::new();
    for trial in tried {
        let Some(answer) = trial.answers.get(question) else { continue };
        match answers.iter_mut().find(|(other, _)| other == answer) {
            Some((_, cost)) => *cost = cost.min(trial.cost()),
            None => answers.push((answer.clone(), trial.cost())),
        }
    }
    let chosen = tried.get(best).and_then(|trial| trial.answers.get(question)).cloned();
    let known = chosen.as_ref().and_then(|chosen| Some((priors.get(chosen)?, tried.get(best)?.cost())));
    if let Some((prior, cost)) = known {
        for (answer, other) in priors {
            if !answers.iter().any(|(tried, _)| tried == answer) {
                answers.push((answer.clone(), cost + other - prior));
            }
        }
    }
    answers.sort_by(|a, b| {
        (Some(&b.0) == chosen.as_ref()).cmp(&(Some(&a.0) == chosen.as_ref())).then(a.1.total_cmp(&b.1))
    });
    let why = chosen.map(|chosen| reasons(question, &chosen, priors, best, tried)).unwrap_or_default();
    Decision { question: question.to_owned(), answers, why }
}

/// What speaks for the chosen answer and against it, set beside the best reading under another answer.
fn reasons(
    question: &str,
    chosen: &str,
    priors: &BTreeMap<String, f64>,
    best: usize,
    tried: &[Trial],
) -> Vec<String> {
    let others =
        tried.iter().filter(|trial| trial.answers.get(question).is_some_and(|other| other != chosen));
    let Some((ours, theirs)) = tried.get(best).zip(others.min_by(|a, b| a.cost().total_cmp(&b.cost())))
    else {
        return Vec::new();
    };
    let other = theirs.answers.get(question).map_or("", String::as_str);
    let mut reasons = Vec::new();
    let (here, there) = (ours.faults(), theirs.faults());
    if here != there {
        reasons.push(format!("as {chosen}, {here} rows do not come out; as {other}, {there}"));
    }
    reasons.extend(ours.grain.reasons(&theirs.grain, chosen, other));
    if let (Some(prior), Some(against)) = (priors.get(chosen), priors.get(other)) {
        let words = if prior < against { "for" } else { "against" };
        if (prior - against).abs() > 0.05 {
            reasons
                .push(format!("the other words of the text and the custom of books speak {words} {chosen}"));
        }
    }
    reasons
}
