//! The changes that each class of misprint may make to a text.

use loops::Op;
use span::Span;

use crate::page::{nth, nth_word, times, word};
use crate::rng::Rng;
use crate::told::{Part, Said, Telling, Times};
use crate::write::{Prose, Start};

use super::parts::{as_work, changed, edited, leaves, own, siblings, visit, with_op, work_at};
use super::{Change, Class, Edit};

pub(super) fn edits(prose: &Prose, class: Class, rng: &mut Rng) -> Vec<Edit> {
    match class {
        Class::NumberInRow => numbers_in_rows(prose, |_, value| near(value, rng)),
        Class::Misread => numbers_in_rows(prose, misread),
        Class::NumberCastOn => cast_on(prose, rng),
        Class::NumberOfRow => rows_referred_to(prose),
        Class::NumberTotal => totals(prose, rng),
        Class::NumberTogether => together(prose),
        Class::NumberOfPlace => places(prose),
        Class::DroppedWords => dropped(prose),
        Class::DoubledWords => doubled(prose),
        Class::WrongWord => wrong_words(prose),
        Class::WrongStitch => wrong_stitches(prose),
        Class::RepeatMark => marks(prose),
        Class::SwappedWords => swapped_numbers(prose),
        Class::SwappedRows => swapped_rows(prose),
    }
}

/// Numbers near another one, the nearest oftener.
fn near(value: u32, rng: &mut Rng) -> Vec<u32> {
    let step = if rng.chance(75) { 1 } else { 2 };
    let mut out = vec![value + step];
    out.extend(value.checked_sub(step).filter(|less| *less > 0));
    out
}

/// Numbers whose figures or words look like those printed.
pub(super) fn misread(printed: &str, value: u32) -> Vec<u32> {
    const WORDS: [(u32, u32); 5] = [(9, 5), (6, 10), (7, 11), (4, 5), (3, 8)];
    const FIGURES: [(char, char); 6] =
        [('1', '7'), ('3', '8'), ('5', '6'), ('6', '0'), ('1', '4'), ('2', '3')];
    let both = |pairs: &[(u32, u32)]| -> Vec<u32> {
        let of = |&(a, b): &(u32, u32)| if value == a { Some(b) } else { (value == b).then_some(a) };
        pairs.iter().filter_map(of).collect()
    };
    if !printed.contains(|letter: char| letter.is_ascii_digit()) {
        return both(&WORDS);
    }
    let figures = value.to_string();
    let mut out = Vec::new();
    for (at, figure) in figures.char_indices() {
        for (a, b) in FIGURES {
            let other = if figure == a { b } else { a };
            if figure == a || figure == b {
                let mut changed = figures.clone();
                changed.replace_range(at..=at, &other.to_string());
                out.extend(changed.parse::<u32>().ok().filter(|number| *number > 0));
            }
        }
    }
    out
}

/// Changes of the numbers of stitches and of repeats.
fn numbers_in_rows(prose: &Prose, mut others: impl FnMut(&str, u32) -> Vec<u32>) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (index, telling) in own(prose) {
        let mut found = Vec::new();
        visit(&telling.parts, &mut Vec::new(), &mut |path, part| {
            let (span, value) = match part {
                Part::Work(Said { number: Some(number), op, count, .. }) if *op != Op::Bo => {
                    (*number, *count)
                }
                Part::Group { number: Some(number), times: Times::All(_), printed, .. } => {
                    (*number, *printed)
                }
                _ => return,
            };
            for other in others(span.of(&prose.text), value) {
                let path = path.to_vec();
                found.push((span, value, other, path));
            }
        });
        for (span, value, other, path) in found {
            let parts = changed(&telling.parts, &path, |part| match part {
                Part::Work(said) => said.count = other,
                Part::Group { times: Times::All(times), .. } => {
                    *times = (*times + other).saturating_sub(value);
                }
                _ => {}
            });
            let old = span.of(&prose.text);
            edits.extend(edit(prose, index, span, respelled(old, value, other), parts));
        }
    }
    edits
}

/// The number as it would be printed; a run after casting off may count one less than it works.
fn respelled(old: &str, value: u32, other: u32) -> String {
    let is_apart = number_like(old, value) != old && number_like(old, value - 1) == old;
    number_like(old, if is_apart { other.saturating_sub(1) } else { other })
}

/// A number printed in the way that another one is.
pub fn number_like(old: &str, number: u32) -> String {
    let words = !old.contains(|letter: char| letter.is_ascii_digit());
    let more = old.ends_with("more");
    let often = more || old.ends_with("times") || matches!(old, "twice" | "once");
    let plain = match (often, words) {
        (true, _) => times(number, words),
        (false, true) => word(number),
        (false, false) => number.to_string(),
    };
    let mut text = if more { format!("{plain} more") } else { plain };
    if old.starts_with(|letter: char| letter.is_ascii_uppercase()) {
        text[..1].make_ascii_uppercase();
    }
    text
}

fn cast_on(prose: &Prose, rng: &mut Rng) -> Vec<Edit> {
    let first = prose.rows.first().map_or(0, |row| row.before);
    let mut edits = Vec::new();
    let mut add = |span: Span, number: u32, change| {
        let text = number_like(span.of(&prose.text), number);
        edits.push(Edit { row: "cast on".to_owned(), span, text, change });
    };
    match prose.start {
        Start::Stitches(span) => {
            near(first, rng).into_iter().for_each(|number| add(span, number, Change::CastOn(number)));
        }
        Start::Each(span, needles) => {
            let each = first / needles.max(1);
            near(each, rng)
                .into_iter()
                .for_each(|number| add(span, number, Change::CastOn(number * needles)));
        }
        Start::Multiple { of, of_span, plus, plus_span } => {
            near(of, rng).into_iter().for_each(|number| add(of_span, number, Change::Multiple(number, plus)));
            let others = plus_span.map(|span| (span, near(plus, rng)));
            for (span, number) in
                others.into_iter().flat_map(|(span, all)| all.into_iter().map(move |n| (span, n)))
            {
                add(span, number, Change::Multiple(of, number));
            }
        }
    }
    edits
}

fn rows_referred_to(prose: &Prose) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (index, telling) in prose.tellings.iter().enumerate() {
        let Some((named, span)) = telling.like.filter(|(_, span)| !span.is_detached()) else { continue };
        for (other, row) in prose.rows.iter().enumerate().take(telling.rows[0]) {
            let Some(known) = row.telling.filter(|_| other != named && row.as_row == other) else { continue };
            let Ok(number) = row.label.parse::<u32>() else { continue };
            let old = span.of(&prose.text);
            let digits = old.contains(|letter: char| letter.is_ascii_digit());
            let text = match (digits, old.ends_with(|letter: char| letter.is_ascii_digit())) {
                (true, true) => number.to_string(),
                (true, false) => nth(number),
                (false, _) => nth_word(number),
            };
            edits.extend(edit(prose, index, span, text, prose.tellings[known].parts.clone()));
        }
    }
    edits
}

fn totals(prose: &Prose, rng: &mut Rng) -> Vec<Edit> {
    let mut edits = Vec::new();
    for &(row, span) in &prose.counts {
        for number in near(prose.rows[row].after, rng) {
            let text = number_like(span.of(&prose.text), number);
            edits.push(Edit {
                row: prose.rows[row].label.clone(),
                span,
                text,
                change: Change::Stated(row, number),
            });
        }
    }
    for (index, telling) in own(prose) {
        for (path, said) in leaves(&telling.parts) {
            let Some(span) = said.number.filter(|_| said.op == Op::Bo) else { continue };
            for number in near(said.count, rng) {
                let parts = changed(&telling.parts, &path, |part| {
                    if let Part::Work(said) = part {
                        said.count = number;
                    }
                });
                edits.extend(edit(prose, index, span, number_like(span.of(&prose.text), number), parts));
            }
        }
    }
    edits
}

fn together(prose: &Prose) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (index, telling) in own(prose) {
        for (path, said) in leaves(&telling.parts) {
            let Some(span) = said.together else { continue };
            let (op, number) = match said.op {
                Op::K2tog => (Op::K3tog, 3),
                Op::K3tog => (Op::K2tog, 2),
                Op::P2tog => (Op::P3tog, 3),
                _ => continue,
            };
            let parts = with_op(&telling.parts, &path, op, 1);
            edits.extend(edit(prose, index, span, number_like(span.of(&prose.text), number), parts));
        }
    }
    edits
}

fn places(prose: &Prose) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (index, telling) in own(prose) {
        let mut found = Vec::new();
        visit(&telling.parts, &mut Vec::new(), &mut |path, part| match part {
            Part::Sweep { left, number: Some(span), .. } => found.push((path.to_vec(), *span, *left)),
            Part::Group { times: Times::Across { left }, number: Some(span), .. } => {
                found.push((path.to_vec(), *span, *left));
            }
            _ => {}
        });
        for (path, span, left) in found {
            for number in [left + 1, left.saturating_sub(1)].into_iter().filter(|number| *number > 0) {
                let parts = changed(&telling.parts, &path, |part| match part {
                    Part::Sweep { left, .. } | Part::Group { times: Times::Across { left }, .. } => {
                        *left = number;
                    }
                    _ => {}
                });
                edits.extend(edit(prose, index, span, number_like(span.of(&prose.text), number), parts));
            }
        }
    }
    edits
}

fn dropped(prose: &Prose) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (index, telling) in own(prose) {
        for (path, said) in leaves(&telling.parts) {
            let siblings = siblings(&telling.parts, &path);
            let at = path.last().copied().unwrap_or(0);
            let span =
                match (work_at(siblings, at + 1), at.checked_sub(1).and_then(|at| work_at(siblings, at))) {
                    (Some(next), _) => Span { start: said.span.start, end: next.span.start },
                    (None, Some(before)) => Span { start: before.span.end, end: said.span.end },
                    (None, None) => continue,
                };
            let parts = edited(&telling.parts, &path, |parts, at| {
                parts.remove(at);
            });
            edits.extend(edit(prose, index, span, String::new(), parts));
        }
    }
    edits
}

fn doubled(prose: &Prose) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (index, telling) in own(prose) {
        for (path, said) in leaves(&telling.parts) {
            let end = said.span.end as usize;
            let text = format!(", {}", lower(said.span.of(&prose.text), &prose.text, telling));
            let parts = edited(&telling.parts, &path, |parts, at| {
                if let Some(copy) = parts.get(at).cloned() {
                    parts.insert(at, copy);
                }
            });
            edits.extend(edit(prose, index, Span::new(end, end), text, parts));
        }
    }
    edits
}

/// The words of an instruction as they stand within a row.
fn lower(words: &str, text: &str, telling: &Telling) -> String {
    let heads =
        telling.body.of(text).starts_with(words) && words.starts_with(|l: char| l.is_ascii_uppercase());
    let second = words.chars().nth(1).is_some_and(|letter| letter.is_ascii_lowercase());
    if heads && second { words[..1].to_ascii_lowercase() + &words[1..] } else { words.to_owned() }
}

/// Making becomes moving, together becomes plain.
fn wrong_words(prose: &Prose) -> Vec<Edit> {
    const WORDS: [(&str, &str); 3] = [("forward", "back"), ("fwd.", "back"), ("together", "plain")];
    let mut edits = Vec::new();
    for (index, telling) in own(prose) {
        for (path, said) in leaves(&telling.parts) {
            let words = said.span.of(&prose.text);
            for (right, wrong) in WORDS {
                let Some(at) = words.find(right) else { continue };
                let start = said.span.start as usize + at;
                let span = Span::new(start, start + right.len());
                let parts = match (said.op, right) {
                    (Op::Yo, "forward" | "fwd.") => edited(&telling.parts, &path, |parts, at| {
                        parts.remove(at);
                    }),
                    (Op::K2tog | Op::K3tog, "together") => {
                        with_op(&telling.parts, &path, Op::K, said.op.takes())
                    }
                    _ => continue,
                };
                edits.extend(edit(prose, index, span, wrong.to_owned(), parts));
            }
        }
    }
    edits
}

/// The words of one stitch stand where those of another should.
fn wrong_stitches(prose: &Prose) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (index, telling) in own(prose) {
        let leaves = leaves(&telling.parts);
        for (path, said) in &leaves {
            for (_, other) in
                leaves.iter().filter(|(_, other)| other.op != said.op && other.count == said.count)
            {
                let text = lower(other.span.of(&prose.text), &prose.text, telling);
                let parts = with_op(&telling.parts, path, other.op, other.count);
                edits.extend(edit(prose, index, said.span, text, parts));
            }
        }
    }
    edits
}

/// A mark is left out, or stands one instruction too late or too early.
fn marks(prose: &Prose) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (index, telling) in own(prose) {
        let at = telling.parts.iter().position(|part| matches!(part, Part::Group { mark: Some(_), .. }));
        let Some(at) = at else { continue };
        let Part::Group { parts: unit, mark: Some(mark), .. } = &telling.parts[at] else { continue };
        // A mark that closes its repeat instead of opening it is left alone.
        let first = unit.first().and_then(as_work).filter(|first| mark.end <= first.span.start);
        let Some(first) = first else { continue };
        let moved = |begin: usize, prefix: Vec<Part>, unit: Vec<Part>| {
            let mut parts = telling.parts[..begin].to_vec();
            parts.extend(prefix);
            let mut group = telling.parts[at].clone();
            if let Part::Group { parts, .. } = &mut group {
                *parts = unit;
            }
            parts.push(group);
            parts.extend_from_slice(&telling.parts[at + 1..]);
            parts
        };
        let lost = Span { start: mark.start, end: first.span.start };
        let from_start = [&telling.parts[..at], unit].concat();
        edits.extend(edit(prose, index, lost, String::new(), moved(0, Vec::new(), from_start)));
        if let Some(second) = work_at(unit, 1) {
            let span = Span { start: mark.start, end: second.span.start };
            let between = Span { start: first.span.start, end: second.span.start }.of(&prose.text);
            let text = format!("{between}{}", lost.of(&prose.text));
            let late = moved(at, vec![unit[0].clone()], unit[1..].to_vec());
            edits.extend(edit(prose, index, span, text, late));
        }
        if let Some(before) = at.checked_sub(1).and_then(|at| work_at(&telling.parts, at)) {
            let span = Span { start: before.span.start, end: first.span.start };
            let between = Span { start: before.span.start, end: mark.start }.of(&prose.text);
            let early = moved(at - 1, Vec::new(), [&[telling.parts[at - 1].clone()], &unit[..]].concat());
            edits.extend(edit(prose, index, span, format!("{}{between}", lost.of(&prose.text)), early));
        }
    }
    edits
}

fn swapped_numbers(prose: &Prose) -> Vec<Edit> {
    let mut edits = Vec::new();
    for (index, telling) in own(prose) {
        let numbered: Vec<(Vec<usize>, Said)> =
            leaves(&telling.parts).into_iter().filter(|(_, said)| said.number.is_some()).collect();
        for (at, (path, said)) in numbered.iter().enumerate() {
            for (other_path, other) in &numbered[at + 1..] {
                let (Some(a), Some(b)) = (said.number, other.number) else { continue };
                if said.count == other.count || a.end > b.start {
                    continue;
                }
                let set = |count| {
                    move |part: &mut Part| {
                        if let Part::Work(said) = part {
                            said.count = count;
                        }
                    }
                };
                let once = changed(&telling.parts, path, set(other.count));
                let parts = changed(&once, other_path, set(said.count));
                let between = Span { start: a.end, end: b.start }.of(&prose.text);
                let text = format!("{}{between}{}", b.of(&prose.text), a.of(&prose.text));
                edits.extend(edit(prose, index, Span { start: a.start, end: b.end }, text, parts));
            }
        }
    }
    edits
}

/// Two rows told one after the other change places, or the second is printed as the first.
fn swapped_rows(prose: &Prose) -> Vec<Edit> {
    let mut edits = Vec::new();
    let single: Vec<(usize, &Telling)> =
        own(prose).filter(|(_, telling)| telling.rows.len() == 1 && telling.like.is_none()).collect();
    for pair in single.windows(2) {
        let [(i, a), (j, b)] = pair else { continue };
        if a.body == a.span || a.body.end > b.body.start {
            continue;
        }
        let [first, second] = [a.body, b.body].map(|body| body.of(&prose.text));
        let between = Span { start: a.body.end, end: b.body.start }.of(&prose.text);
        let row = prose.rows[a.rows[0]].label.clone();
        edits.push(Edit {
            row,
            span: Span { start: a.body.start, end: b.body.end },
            text: format!("{second}{between}{first}"),
            change: Change::Parts(vec![(*i, b.parts.clone()), (*j, a.parts.clone())]),
        });
        edits.extend(edit(prose, *j, b.body, first.to_owned(), a.parts.clone()));
    }
    edits
}

/// An edit of one place; rows that are said to be like it change with it.
fn edit(prose: &Prose, index: usize, span: Span, text: String, parts: Vec<Part>) -> Option<Edit> {
    let telling = &prose.tellings[index];
    let row = prose.rows.get(*telling.rows.first()?)?.label.clone();
    let follows = |like: &Telling| like.like.is_some_and(|(row, _)| telling.rows.contains(&row));
    let followers =
        prose.tellings.iter().enumerate().filter(|(_, like)| telling.like.is_none() && follows(like));
    let mut changed: Vec<(usize, Vec<Part>)> = followers.map(|(other, _)| (other, parts.clone())).collect();
    changed.push((index, parts));
    Some(Edit { row, span, text, change: Change::Parts(changed) })
}
