//! What else stands for a repeat mark: a letter set in pairs, or the word for the mark; and where a mark ends a sentence.
//!
//! Knows tokens and their gaps. Does not know what a repeat is.

use crate::lexer::{Gap, Token, TokenKind};

/// "X m 2, k 2 t, X twice": the letter is a mark where it stands in pairs, as a printer without stars sets it. Not the
/// number of a heading, nor a term: "m, x, m".
pub(crate) fn crosses(tokens: &mut [Token]) {
    let ends = |token: Option<&Token>| token.is_none_or(|next| next.gap >= Gap::Period);
    let is_mark = |at: usize| {
        let heading = tokens[at].line_start && ends(tokens.get(at + 1));
        tokens[at].kind == TokenKind::Word && tokens[at].text == "x" && !heading
    };
    let marks: Vec<usize> = (0..tokens.len()).filter(|at| is_mark(*at)).collect();
    let alone = |at: &usize| {
        tokens[*at].gap >= Gap::Comma && tokens.get(at + 1).is_some_and(|next| next.gap == Gap::Comma)
    };
    if marks.len() > 1 && !marks.iter().any(alone) {
        marks.into_iter().for_each(|at| tokens[at].kind = TokenKind::Star);
    }
}

/// "Repeat from the star", "from star to star", "from the cross": the word stands for the mark.
pub(crate) fn name_stars(tokens: &mut [Token]) {
    let mut mark = None;
    for at in 0..tokens.len() {
        if tokens[at].kind == TokenKind::Star {
            mark = Some(tokens[at].text.clone());
        }
        let before = |back: usize| at.checked_sub(back).map_or("", |at| tokens[at].text.as_str());
        let pointed = |word: &str| matches!(word, "from" | "to" | "at");
        let refers = pointed(before(1)) || before(1) == "the" && pointed(before(2));
        let named = matches!(tokens[at].text.as_str(), "star" | "asterisk" | "cross" | "dagger");
        if let Some(mark) = mark.as_ref().filter(|_| named && refers) {
            tokens[at].text = mark.clone();
            tokens[at].kind = TokenKind::Star;
        }
    }
}

/// "* Knit 6, knit 2 together. *" at the end of a line: the words behind the star that closes a repeat begin anew.
pub(crate) fn close_lines(tokens: &mut [Token]) {
    let mut open = false;
    for at in 0..tokens.len() {
        let token = &tokens[at];
        let label = token.line_start && (token.number.is_some() || token.ordinal.is_some());
        open &= !label && token.gap < Gap::Paragraph;
        let refers =
            at.checked_sub(1).is_some_and(|before| matches!(&*tokens[before].text, "from" | "to" | "at"));
        if token.kind != TokenKind::Star || refers {
            continue;
        }
        let closes = open && !token.line_start;
        open = !open;
        if let Some(next) = tokens.get_mut(at + 1).filter(|next| closes && next.line_start && next.capital) {
            next.gap = next.gap.max(Gap::Period);
        }
    }
}
