//! The words that a change takes.

use loops::Op;
use reading::{Item, Work};
use span::Span;

use super::anew::body;
use super::phrase::lower_first;
use super::{Base, Change, Kind, same_number};
use crate::patch::Patch;
use crate::words::{Words, capital, in_the_manner_of};

impl Base {
    /// The words that a change takes.
    pub fn patches(&self, change: &Change, words: &Words<'_>) -> Option<Vec<Patch>> {
        let items = &self.frames[change.frame].items;
        let old = &items[change.from..change.to];
        let number_of = |item: &Item, meant: u32| match item {
            Item::Work(Work { number: Some(number), span, .. }) => {
                let corrected = in_the_manner_of(number.of(words.text), meant)?;
                Some(Patch::new(*span, words.replaced(*span, *number, &corrected)))
            }
            _ => None,
        };
        match &change.kind {
            Kind::Times(meant) => Some(vec![number_of(&old[0], *meant)?]),
            Kind::Both(at, meant) => {
                let Some(Item::Work(like)) = old.get(*at) else { return None };
                old.iter()
                    .filter(|item| same_number(item, like))
                    .map(|item| number_of(item, *meant))
                    .collect()
            }
            Kind::Together(op, number) => {
                self.together_patch(old[0].span(), *op, *number, words).map(|patch| vec![patch])
            }
            Kind::Until(_, meant, figure) => {
                let corrected = in_the_manner_of(figure.span.of(words.text), *meant)?;
                let whole = match &old[0] {
                    Item::Group { span, .. } | Item::Rest { span, .. } => *span,
                    _ => return None,
                };
                Some(vec![Patch::new(whole, words.replaced(whole, figure.span, &corrected))])
            }
            Kind::Insert(phrase) => {
                insert_patch(items, change.from, &self.phrases[*phrase].words, words).map(|patch| vec![patch])
            }
            Kind::Delete => delete_patch(items, change.from, change.to, words).map(|patch| vec![patch]),
            Kind::Pass(_) => {
                let end = old[1].span().end as usize;
                let passed =
                    passing_words(words).unwrap_or_else(|| "pass the slipped stitch over".to_owned());
                Some(vec![Patch::new(Span::new(end, end), format!(", {passed}"))])
            }
            Kind::Star(_) => self.star_patches(change, words),
            Kind::Split(first, phrase, second) => {
                let one = number_of(&old[0], *first)?;
                let Some(Item::Work(other)) = self.phrases[*phrase].items.first() else { return None };
                let number = other.number?;
                let two =
                    words.replaced(other.span, number, &in_the_manner_of(number.of(words.text), *second)?);
                Some(vec![Patch::new(one.span, format!("{}, {two}", one.corrected))])
            }
            Kind::Stitch(phrase) => {
                let phrase = &self.phrases[*phrase];
                let (Item::Work(work), Some(Item::Work(other))) = (&old[0], phrase.items.first()) else {
                    return None;
                };
                let corrected = if work.times == other.times {
                    phrase.words.clone()
                } else {
                    let figure = in_the_manner_of(other.number?.of(words.text), work.times)?;
                    words.replaced(other.span, other.number?, &figure)
                };
                // "K. 6, K. 3": a book that sets all its letters large sets the right one so.
                let large = work.span.of(words.text).starts_with(char::is_uppercase);
                let corrected = if large { capital(&corrected) } else { lower_first(&corrected) };
                Some(vec![Patch::new(work.span, corrected)])
            }
            Kind::Row(row) => Some(vec![Patch::new(body(&self.seq, words), self.rows[*row].words.clone())]),
            Kind::Swap => {
                let (one, two) = (old[0].span(), old[1].span());
                let apart = !one.is_detached() && !two.is_detached() && one.end <= two.start;
                apart.then(|| vec![Patch::new(one, two.of(words.text)), Patch::new(two, one.of(words.text))])
            }
            Kind::Exchange(one, other) => {
                let (first, second) = (one.number(old)?, other.number(old)?);
                Some(vec![one.patch(old, second, words)?, other.patch(old, first, words)?])
            }
        }
    }

    fn together_patch(&self, span: Span, op: Op, number: u32, words: &Words<'_>) -> Option<Patch> {
        if op == Op::Skp {
            // "Slip 1, knit 2 together, pass over": the two knitted together are one.
            let figure = words.figures(span).into_iter().find(|figure| figure.value == 2)?;
            let together = words.within(span).iter().find(|token| token.text.starts_with("tog"))?;
            let one = in_the_manner_of(figure.span.of(words.text), 1)?;
            let whole = figure.span.to(together.span);
            let range = whole.range().start - span.range().start..whole.range().end - span.range().start;
            let text = span.of(words.text);
            return Some(Patch::new(
                span,
                format!("{}{one}{}", text.get(..range.start)?, text.get(range.end..)?),
            ));
        }
        let figure = words.figures(span).into_iter().find(|figure| matches!(figure.value, 2..=4))?;
        let corrected = in_the_manner_of(figure.span.of(words.text), number)?;
        Some(Patch::new(span, words.replaced(span, figure.span, &corrected)))
    }

    fn star_patches(&self, change: &Change, words: &Words<'_>) -> Option<Vec<Patch>> {
        let Kind::Star(moved) = change.kind else { return None };
        let items = &self.frames[change.frame].items;
        let at = change.to - 1;
        let Item::Group { body, .. } = &items[at] else { return None };
        let begins = match usize::try_from(moved) {
            Ok(_) => items.get(change.from)?.span(),
            Err(_) => body.items().get(usize::try_from(-moved).ok()?)?.span(),
        };
        if begins.is_detached() {
            return None;
        }
        let start = begins.start as usize;
        let mark = self.mark_before(change.frame, at, words);
        let sign = mark.map_or("*", |mark| mark.of(words.text));
        let put_in = Patch::new(Span::new(start, start), format!("{sign} "));
        let Some(mark) = mark else { return Some(vec![put_in]) };
        let mut end = mark.end as usize;
        end += words.text.get(end..)?.bytes().take_while(|byte| *byte == b' ').count();
        Some(vec![Patch::new(Span::new(mark.start as usize, end), ""), put_in])
    }

    /// The repeat mark at the beginning of a group.
    pub(super) fn mark_before(&self, frame: usize, at: usize, words: &Words<'_>) -> Option<Span> {
        let Item::Group { body, .. } = &self.frames[frame].items[at] else { return None };
        words.mark_before(body.items().first()?.span())
    }
}

fn insert_patch(items: &[Item], at: usize, phrase: &str, words: &Words<'_>) -> Option<Patch> {
    let printed: Vec<Span> = items.iter().map(Item::span).filter(|span| !span.is_detached()).collect();
    let separator =
        printed.windows(2).map(|pair| words.separator(pair[0].end, pair[1].start)).next().unwrap_or(", ");
    if at > 0 {
        let before = items[at - 1].span();
        let end = before.end as usize;
        return (!before.is_detached())
            .then(|| Patch::new(Span::new(end, end), format!("{separator}{phrase}")));
    }
    let after = items.first()?.span();
    let start = after.start as usize;
    (!after.is_detached()).then(|| Patch::new(Span::new(start, start), format!("{phrase}{separator}")))
}

fn delete_patch(items: &[Item], from: usize, to: usize, words: &Words<'_>) -> Option<Patch> {
    let (first, last) = (items[from].span(), items[to - 1].span());
    let span = |start: u32, end: u32| Some(Span::new(start as usize, end as usize)).filter(|_| start < end);
    let whole = |span: &Span| !span.of(words.text).contains(['*', '(', ')', '[', ']']);
    let up_to_next = items.get(to).and_then(|next| span(first.start, next.span().start));
    let after_last = from.checked_sub(1).and_then(|before| span(items[before].span().end, last.end));
    let span = up_to_next.filter(whole).or(after_last.filter(whole))?;
    Some(Patch::new(span, ""))
}

/// The words for passing over, as the text has them elsewhere.
pub fn passing_words(words: &Words<'_>) -> Option<String> {
    let tokens = words.tokens();
    let from = tokens.iter().position(|token| {
        matches!(token.text.as_str(), "pass" | "psso" | "draw" | "slip") && {
            token.text == "psso"
                || token.text != "slip"
                    && tokens
                        .iter()
                        .skip_while(|other| other.span != token.span)
                        .take(7)
                        .any(|other| other.text == "over")
        }
    })?;
    if tokens[from].text == "psso" {
        return Some(tokens[from].span.of(words.text).to_owned());
    }
    let to = tokens[from..].iter().position(|token| token.text == "over")? + from;
    let printed = tokens[from].span.to(tokens[to].span).of(words.text);
    Some(lower_first(&printed.split_whitespace().collect::<Vec<_>>().join(" ")))
}
