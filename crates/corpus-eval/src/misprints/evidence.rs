//! Whether a misprint can be told from the text that it is in.
//!
//! Three questions, none of which asks what the mender thinks likely:
//!
//! 1. *Does it show?* Something does not come out that did before, or words are not understood that were, or the text
//!    was clearly more regular and less so in no way.
//! 2. *Is there another cure as good?* Another correction that is as short, counted in letters, that leaves no more
//!    amiss than the true text does and is as regular in every way. Then nothing in the text speaks for the truth.
//!
//! 3. *Are the words there?* Words that were dropped or printed over, more than a number, can be put back only if the text
//!    has them elsewhere, whatever their numbers; or if what is printed are the same words in another order.
//!
//! Regularity is compared way by way (even steps, halves that mirror, rows alike …), never by the sum, so that the
//! mender's weights cannot excuse it.

use mending::{Mended, regularity, troubles};
use reading::{Reading, Token, lex};

use crate::slips::Slip;

use super::texts::Text;

/// Nats of regularity by which a text in which everything comes out must be less regular than it was for a misprint to
/// show: odds of twenty to one. Old patterns are uneven by intent as well, and nothing tells a smaller loss from that.
const UNEVEN: f64 = 3.0;

/// Whether a misprint can be told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It shows, and the true text is the one best cure.
    Told,
    /// It shows, and another cure is as good.
    Equal,
    /// It shows, and the true words stand nowhere else in the text.
    Lost,
    /// The text is as sound with it as without.
    Hidden,
}

/// What a text has amiss, and how regular it is.
struct State {
    amiss: f64,
    unread: usize,
    regular: Vec<f64>,
}

impl State {
    fn of(reading: &Reading, text: &str) -> State {
        // Every trouble counts, those that the reader has counted already a little less.
        let amiss = troubles(reading, text).iter().map(|trouble| 1.0 + trouble.cost()).sum();
        let unread = reading.unread.iter().map(|span| span.range().len()).sum();
        State { amiss, unread, regular: regularity(reading) }
    }

    fn at_least_as_regular(&self, other: &State) -> bool {
        self.regular.iter().zip(&other.regular).all(|(own, other)| *own >= other - 1e-9)
    }

    /// Whether nothing speaks against this state that does not speak against the other as much.
    fn as_good_as(&self, other: &State) -> bool {
        self.amiss <= other.amiss + 1e-9 && self.unread <= other.unread && self.at_least_as_regular(other)
    }
}

/// What can be known about one misprint.
pub struct Evidence<'a> {
    text: &'a Text,
    printed: &'a str,
    slip: &'a Slip,
    /// Letters by which the true words differ from those printed.
    distance: usize,
    right: State,
    wrong: State,
}

impl<'a> Evidence<'a> {
    /// Looks at a text with a misprint, as it was read.
    pub fn new(text: &'a Text, slip: &'a Slip, printed: &'a str, reading: &Reading) -> Evidence<'a> {
        Evidence {
            text,
            printed,
            slip,
            distance: distance(&slip.printed, slip.span.of(&text.text)),
            right: State::of(&text.reading, &text.text),
            wrong: State::of(reading, printed),
        }
    }

    /// The verdict, given the corrections that are thought likelier than the true text.
    pub fn verdict(&self, rivals: &[Mended]) -> Verdict {
        if self.wrong.as_good_as(&self.right) || !self.shows() {
            Verdict::Hidden
        } else if self.is_lost() {
            Verdict::Lost
        } else if rivals.iter().any(|rival| self.is_equal(rival)) {
            Verdict::Equal
        } else {
            Verdict::Told
        }
    }

    fn shows(&self) -> bool {
        let sum = |state: &State| state.regular.iter().sum::<f64>();
        let loss = sum(&self.right) - sum(&self.wrong);
        self.wrong.amiss > self.right.amiss + 1e-9
            || self.wrong.unread > self.right.unread
            || self.right.at_least_as_regular(&self.wrong) && loss >= UNEVEN
    }

    fn is_lost(&self) -> bool {
        let mut right = shapes(self.slip.span.of(&self.text.text));
        let mut wrong = shapes(&self.slip.printed);
        if right.is_empty() {
            return false;
        }
        // One word misread is still known by its letters.
        let spelled = right.len() == 1 && wrong.len() == 1 && self.distance <= 2;
        let elsewhere = shapes(self.printed).windows(right.len()).any(|words| *words == right);
        right.sort();
        wrong.sort();
        !spelled && !elsewhere && right != wrong
    }

    fn is_equal(&self, rival: &Mended) -> bool {
        let length: usize = rival.emendations.iter().map(|one| distance(&one.printed, &one.corrected)).sum();
        if length > self.distance {
            return false;
        }
        let mut text = self.printed.to_owned();
        for one in rival.emendations.iter().rev() {
            if one.span.is_detached() || text.get(one.span.range()).is_none() {
                return false;
            }
            text.replace_range(one.span.range(), &one.corrected);
        }
        let reading = self.text.reader.read(&text, &self.text.options);
        State::of(&reading, &text).as_good_as(&self.right)
    }
}

/// The words of a stretch, every number as one.
fn shapes(words: &str) -> Vec<String> {
    let shape = |token: Token| if token.number.is_some() { "#".to_owned() } else { token.text };
    lex(words).into_iter().map(shape).collect()
}

/// Letters put in, left out or changed between two stretches of words (Levenshtein, 1965).
fn distance(one: &str, other: &str) -> usize {
    let other: Vec<char> = other.chars().collect();
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (at, letter) in one.chars().enumerate() {
        let mut corner = row[0];
        row[0] = at + 1;
        for (to, second) in other.iter().enumerate() {
            let changed = corner + usize::from(letter != *second);
            corner = row[to + 1];
            row[to + 1] = changed.min(row[to] + 1).min(corner + 1);
        }
    }
    row[other.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_counted() {
        for (one, other, letters) in [("k 3", "k 4", 1), ("", "abc", 3), ("knit", "kint", 2), ("a", "a", 0)] {
            assert_eq!(distance(one, other), letters);
            assert_eq!(distance(other, one), letters);
        }
    }
}
