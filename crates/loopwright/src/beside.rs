//! Another reading of the same text, to be shown beside the one that was chosen.

use std::str::FromStr;

use reading::Reading;

use crate::checked::Checked;
use crate::choice::one_line;
use crate::failure::Failure;
use crate::request::check_choice;

/// Which other reading.
#[derive(Clone, Debug, PartialEq)]
pub enum Beside {
    /// That with a correction, by its number in `loopwright mend`.
    Correction(usize),
    /// That with another answer to a question of the whole text.
    Answer(String, String),
}

impl FromStr for Beside {
    type Err = String;

    fn from_str(text: &str) -> Result<Beside, String> {
        let wrong = || {
            "what stands beside is the number of a correction, or QUESTION=ANSWER such as P=plain".to_owned()
        };
        match text.split_once('=') {
            Some((question, answer)) if !question.is_empty() && !answer.is_empty() => {
                Ok(Beside::Answer(question.to_owned(), answer.to_owned()))
            }
            Some(_) => Err(wrong()),
            None => text.parse().ok().filter(|&number| number > 0).map(Beside::Correction).ok_or_else(wrong),
        }
    }
}

impl Beside {
    /// The reading, and what it reads otherwise, in words.
    ///
    /// # Errors
    /// [`Failure::Usage`] where there is no such reading.
    pub fn reading(&self, checked: &Checked) -> Result<(Reading, String), Failure> {
        match self {
            Beside::Correction(number) => corrected(checked, *number),
            Beside::Answer(question, answer) => {
                check_choice(checked.lexicon(), question, answer)?;
                Ok((checked.read_for(question, answer), format!("with {question} as {answer}")))
            }
        }
    }
}

fn corrected(checked: &Checked, number: usize) -> Result<(Reading, String), Failure> {
    let candidates = &checked.mending.candidates;
    let mended = candidates.get(number - 1).ok_or_else(|| Failure::Usage {
        message: format!("--beside {number}: {} corrections were weighed", candidates.len()),
        help: "`loopwright mend` lists them".to_owned(),
    })?;
    let words = mended.emendations.iter().map(|one| {
        let quoted = |words: &str| match one_line(words).as_str() {
            "" => "nothing".to_owned(),
            words => format!("\"{words}\""),
        };
        format!("{} for {} in row {}", quoted(&one.corrected), quoted(&one.printed), one.row)
    });
    Ok((mended.reading.clone(), format!("with {}", words.collect::<Vec<_>>().join(" and "))))
}

#[cfg(test)]
mod tests {
    use super::Beside;

    #[test]
    fn what_stands_beside_is_read_and_nonsense_refused() {
        assert_eq!("2".parse(), Ok(Beside::Correction(2)));
        assert_eq!("P=plain".parse(), Ok(Beside::Answer("P".to_owned(), "plain".to_owned())));
        for text in ["", "0", "-1", "P=", "=plain", "P"] {
            assert!(text.parse::<Beside>().is_err(), "{text}");
        }
    }
}
