//! Words that tell no stitch: the thread's colour, remarks in brackets, what comes of the rows, headings, openings.
//!
//! Knows where such words may begin and end; not what stands beside them.

use super::context::leads_on;
use super::{Draft, Payload, Weaver};
use crate::forest::Edge;
use crate::lexer::{Gap, Token, TokenKind};
use crate::rowset::{Which, rows_at};
use crate::words::WORDS;

/// What stands behind a verb of the craft that is said of stitches.
const OF_STITCHES: [&str; 9] = ["the", "a", "an", "all", "plain", "these", "those", "them", "it"];

impl Weaver<'_> {
    /// "with red wool", "in the second colour", "white": a few words between gaps that name a thread, no stitch.
    pub(super) fn aside_edge(&self, draft: &mut Draft<'_>, at: usize) {
        const LONGEST: usize = 6;
        let tokens = draft.tokens;
        let opens = matches!(tokens[at].text.as_str(), "with" | "in" | "using" | "take" | "join" | "change");
        let alone = tokens[at].gap >= Gap::Comma && WORDS.colours.contains(&tokens[at].text);
        if !opens && !alone {
            return;
        }
        // "Light. 1 plain": a colour by itself ends at a point.
        let ends = if opens { Gap::Comma } else { Gap::Point };
        let end = (at + 1..tokens.len()).find(|&end| tokens[end].gap >= ends).unwrap_or(tokens.len());
        let named = tokens[at..end].iter().any(|token| self.is_colour(token));
        if end - at <= LONGEST && named {
            draft.add(at, end, self.terminals.aside, 0.1, Payload::Token);
        }
    }

    /// "(the same stitch as before)": words in brackets that are passed over, dearer with every number among them.
    pub(super) fn remark_edge(&self, draft: &mut Draft<'_>, at: usize) {
        const LONGEST: usize = 16;
        let tokens = draft.tokens;
        if tokens[at].kind != TokenKind::Open {
            return;
        }
        let inside = tokens[at + 1..].iter().take(LONGEST);
        let Some(words) = inside.clone().position(|token| token.kind != TokenKind::Word) else { return };
        if words > 0 && tokens[at + 1 + words].kind == TokenKind::Close {
            let numbers = inside.take(words).filter(|token| token.number.is_some()).count();
            let cost = 1.5 + 1.5 * numbers as f64;
            draft.add(at, at + words + 2, self.terminals.remark, cost, Payload::Token);
        }
    }

    /// "Which will make a nice elastic ribbing": what comes of the rows, in words that tell no stitch.
    pub(super) fn result_edge(&self, draft: &mut Draft<'_>, at: usize) {
        const LONGEST: usize = 14;
        const COST: f64 = 1.0;
        let tokens = draft.tokens;
        let opens = matches!(tokens[at].text.as_str(), "which" | "this" | "these" | "that");
        let text = |at: usize| tokens.get(at).map_or("", |token| token.text.as_str());
        // "Which is the half of the square."
        let is = matches!(text(at + 1), "is" | "are") && matches!(text(at + 2), "the" | "a" | "an" | "for");
        let comes = is || WORDS.comes.contains(text(at + 1));
        if !opens || !comes || tokens[at].gap < Gap::Comma {
            return;
        }
        let end = (at + 1..tokens.len()).find(|&end| tokens[end].gap >= Gap::Comma).unwrap_or(tokens.len());
        let talks = |token: &Token| {
            token.kind == TokenKind::Word
                && token.number.is_none()
                && token.ordinal.is_none()
                && !WORDS.verbs.contains(&token.text)
        };
        if end - at <= LONGEST && tokens[at..end].iter().all(talks) {
            draft.add(at, end, self.terminals.note, COST, Payload::Token);
        }
    }

    /// "5th row. Here are the holes for the ribbon: knit 2, …", "in the seventh the holes come between, therefore knit 1",
    /// "14th. The lozenge now diminishes. Knit 4, …": words between the name of a row and a colon or the end of a
    /// sentence, or what follows from them, none of which tells a stitch.
    pub(super) fn heading_edge(&self, draft: &mut Draft<'_>, at: usize) {
        const LONGEST: usize = 10;
        const BACK: usize = 6;
        const COST: f64 = 0.5;
        const SENTENCE: f64 = 1.5;
        const FEWEST: usize = 3;
        let tokens = draft.tokens;
        let names = |edge: &Edge| edge.to as usize == at && edge.terminal == self.terminals.rows;
        let labelled = draft.lattice.edges[at.saturating_sub(BACK)..at].iter().flatten().any(names);
        if !labelled {
            return;
        }
        let mut words = tokens[at..].iter().take(LONGEST + 1).enumerate().skip(1);
        let Some((index, mark)) = words.find(|(_, token)| token.gap >= Gap::Comma) else { return };
        let follows = mark.gap == Gap::Comma && matches!(mark.text.as_str(), "therefore" | "hence");
        if !follows && (!matches!(mark.gap, Gap::Colon | Gap::Period) || tokens[at].gap < Gap::Point) {
            return;
        }
        let sentence = mark.gap == Gap::Period;
        // "Plain." is work, and "two rows, there and back." one sentence.
        if sentence && (index < FEWEST || tokens[at].gap == Gap::Comma) {
            return;
        }
        let cost = if sentence { SENTENCE } else { COST };
        let end = at + index + usize::from(follows);
        // "The point begins to decrease" and "increase for the thumb" tell none either.
        let talks = |at: usize| {
            let word = tokens[at].kind == TokenKind::Word && tokens[at].number.is_none();
            let what_for = tokens.get(at + 1).is_some_and(|next| next.text == "for");
            word && (tokens[at - 1].text == "to" || what_for || !WORDS.verbs.contains(&tokens[at].text))
        };
        if (at..end).all(talks) {
            draft.add(at, end, self.terminals.remark, cost, Payload::Token);
        }
    }

    /// "Casing: knit 2, …": a word or two that head a paragraph of stitches.
    pub(super) fn headed_edge(&self, draft: &mut Draft<'_>, at: usize) {
        const LONGEST: usize = 3;
        let tokens = draft.tokens;
        let heads = |token: &Token| {
            let word = token.kind == TokenKind::Word && token.number.is_none() && token.ordinal.is_none();
            word && self.lexicon.word(&token.text).is_none() && !WORDS.verbs.contains(&token.text)
        };
        if at > 0 && tokens[at].gap != Gap::Paragraph || !heads(&tokens[at]) {
            return;
        }
        let end = (at + 1..tokens.len().min(at + 1 + LONGEST)).find(|&end| tokens[end].gap > Gap::Point);
        if let Some(end) = end.filter(|&end| {
            matches!(tokens[end].gap, Gap::Colon | Gap::Dash) && tokens[at..end].iter().all(heads)
        }) {
            draft.add(at, end, self.terminals.headed, 0.0, Payload::Token);
        }
    }

    /// "To turn the heel," and "For the toe,": a short clause before the first stitches of a sentence.
    pub(super) fn intro_edge(&self, draft: &mut Draft<'_>, at: usize) {
        const LONGEST: usize = 7;
        let tokens = draft.tokens;
        let opens = at == 0
            || tokens[at].gap >= Gap::Colon
            || tokens[at].gap == Gap::Comma
                && matches!(tokens[at - 1].text.as_str(), "then" | "now" | "next");
        if !opens || !WORDS.opening.contains(&tokens[at].text) {
            return;
        }
        let end = (at + 1..tokens.len().min(at + 1 + LONGEST)).find(|&end| tokens[end].gap >= Gap::Comma);
        if let Some(end) = end.filter(|&end| tokens[end].gap <= Gap::Dash) {
            draft.add(at, end, self.terminals.intro, 0.0, Payload::Token);
        }
    }

    /// "Every row is knitted like this one until …", "keep to this row, losing one loop each time, till …": words up to a
    /// goal which say that rows go on as they have begun, and tell no stitch; with the rows that they name.
    pub(super) fn onward_edge(&self, draft: &mut Draft<'_>, at: usize) {
        const LONGEST: usize = 45;
        const FEWEST: usize = 2;
        const COST: f64 = 2.0;
        const WORD: f64 = 0.3;
        let tokens = draft.tokens;
        if at > 0 && tokens[at].gap < Gap::Comma && !leads_on(&tokens[..at]) {
            return;
        }
        let goal = |token: &Token| matches!(token.text.as_str(), "until" | "till");
        let sentence = |token: &Token| token.gap >= Gap::Period || token.kind != TokenKind::Word;
        let mut ahead = tokens[at..].iter().take(LONGEST).enumerate().skip(1);
        let Some((words, _)) = ahead.find(|(_, token)| goal(token) || sentence(token)) else { return };
        let told = &tokens[at..at + words];
        // "Knit round after round in the same fashion" tells no stitch, "take in the first two, and knit the others" does.
        let of_stitches = |token: &Token| {
            token.gap < Gap::Comma && (token.number.is_some() || OF_STITCHES.contains(&token.text.as_str()))
        };
        let works = (1..told.len()).any(|next| {
            let (verb, before) = (told[next - 1].text.as_str(), next.checked_sub(2).map(|at| &told[at]));
            let takes_in = matches!(verb, "in" | "off") && before.is_some_and(|before| before.text == "take");
            (takes_in || WORDS.verbs.contains(verb)) && of_stitches(&told[next])
        });
        let onward = told.iter().any(|token| WORDS.onward.contains(&token.text));
        if words < FEWEST || !goal(&tokens[at + words]) || sentence(&tokens[at + words]) || works || !onward {
            return;
        }
        let mut rows = Vec::new();
        (at..at + words).for_each(|place| rows_at(tokens, place, &mut rows));
        let named = rows.into_iter().map(|(_, rows)| rows).find(|rows| match &rows.which {
            Which::Last(_) => true,
            Which::Numbers(_) => rows.explicit,
            _ => false,
        });
        let payload = named.map_or(Payload::Token, Payload::Rows);
        draft.add(at, at + words, self.terminals.onward, COST + WORD * words as f64, payload);
    }

    fn is_colour(&self, token: &Token) -> bool {
        let word = self.lexicon.word(&token.text);
        WORDS.colours.contains(&token.text) || word.is_some() && word == self.lexicon.word("wool")
    }
}
