//! Numbers as words, figures and ordinals, brought to one spelling: `three` is `3`, `third` and `3d` are `3rd`.

/// Number words from no to nineteen.
pub const SMALL: [&str; 20] = [
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
];
/// Words for the tens, from twenty.
pub const TENS: [&str; 10] =
    ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
/// Ordinal words from first to nineteenth.
pub const ORDINALS: [&str; 20] = [
    "",
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
    "fifteenth",
    "sixteenth",
    "seventeenth",
    "eighteenth",
    "nineteenth",
];

/// The value of a cardinal number word or figure; `None` for any other word.
pub fn cardinal(word: &str) -> Option<u32> {
    if word.bytes().all(|byte| byte.is_ascii_digit()) && !word.is_empty() {
        return word.parse().ok();
    }
    let value = match word {
        "one" => 1,
        "two" | "couple" | "pair" => 2,
        "three" => 3,
        "four" => 4,
        "five" => 5,
        "six" => 6,
        "seven" => 7,
        "eight" => 8,
        "nine" => 9,
        "ten" => 10,
        "eleven" => 11,
        "twelve" | "dozen" => 12,
        "thirteen" => 13,
        "fourteen" => 14,
        "fifteen" => 15,
        "sixteen" => 16,
        "seventeen" => 17,
        "eighteen" => 18,
        "nineteen" => 19,
        _ => {
            return tens(word).or(match word {
                "hundred" => Some(100),
                "score" => Some(20),
                _ => None,
            });
        }
    };
    Some(value)
}

/// The value of `twenty`, `thirty` and so on.
pub fn tens(word: &str) -> Option<u32> {
    let value = match word {
        "twenty" => 20,
        "thirty" => 30,
        "forty" | "fourty" => 40,
        "fifty" => 50,
        "sixty" => 60,
        "seventy" => 70,
        "eighty" => 80,
        "ninety" => 90,
        _ => return None,
    };
    Some(value)
}

/// The value of an ordinal word or figure with its ending.
pub fn ordinal(word: &str) -> Option<u32> {
    let digits = word.trim_end_matches(|letter: char| letter.is_ascii_alphabetic());
    if !digits.is_empty() && matches!(&word[digits.len()..], "st" | "nd" | "rd" | "th" | "d" | "ds" | "ths") {
        return digits.parse().ok();
    }
    let value = match word {
        "first" => 1,
        "second" => 2,
        "third" => 3,
        "fourth" => 4,
        "fifth" => 5,
        "sixth" => 6,
        "seventh" => 7,
        "eighth" => 8,
        "ninth" => 9,
        "tenth" => 10,
        "eleventh" => 11,
        "twelfth" => 12,
        "thirteenth" => 13,
        "fourteenth" => 14,
        "fifteenth" => 15,
        "sixteenth" => 16,
        "seventeenth" => 17,
        "eighteenth" => 18,
        "nineteenth" => 19,
        "twentieth" => 20,
        "thirtieth" => 30,
        "fortieth" => 40,
        "fiftieth" => 50,
        "sixtieth" => 60,
        "seventieth" => 70,
        "eightieth" => 80,
        "ninetieth" => 90,
        "hundredth" => 100,
        _ => return None,
    };
    Some(value)
}

/// One spelling for every way to write a number; other words are left as they are (in lower case).
pub fn spelling(word: &str) -> String {
    if let Some(value) = cardinal(word) {
        value.to_string()
    } else if let Some(value) = ordinal(word) {
        ordinal_spelling(value)
    } else {
        word.to_owned()
    }
}

/// Cuts a word where letters meet figures (`k2tog` is `k`, `2`, `tog`), but leaves ordinals whole.
pub fn pieces(word: &str) -> Vec<&str> {
    let mut out = Vec::new();
    let mut start = 0;
    let mut before = None;
    for (at, letter) in word.char_indices() {
        let digit = letter.is_ascii_digit();
        if before.is_some_and(|before| before != digit) {
            out.push(&word[start..at]);
            start = at;
        }
        before = Some(digit);
    }
    if start > 0 && ordinal(word).is_some() {
        return vec![word];
    }
    out.push(&word[start..]);
    out
}

/// `1st`, `2nd`, `3rd`, `4th` and so on.
pub fn ordinal_spelling(value: u32) -> String {
    let ending = match (value % 100, value % 10) {
        (11..=13, _) => "th",
        (_, 1) => "st",
        (_, 2) => "nd",
        (_, 3) => "rd",
        _ => "th",
    };
    format!("{value}{ending}")
}

/// The word for a number below a hundred.
pub fn cardinal_word(value: u32) -> Option<String> {
    let value = value as usize;
    match value {
        0..20 => Some(SMALL[value].to_owned()),
        20..100 if value.is_multiple_of(10) => Some(TENS[value / 10].to_owned()),
        20..100 => Some(format!("{}-{}", TENS[value / 10], SMALL[value % 10])),
        _ => None,
    }
}

/// The ordinal word for a number below a hundred.
pub fn ordinal_word(value: u32) -> Option<String> {
    let at = value as usize;
    match at {
        1..20 => Some(ORDINALS[at].to_owned()),
        20..100 if at.is_multiple_of(10) => Some(format!("{}ieth", TENS[at / 10].trim_end_matches('y'))),
        20..100 => Some(format!("{}-{}", TENS[at / 10], ORDINALS[at % 10])),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_one_spelling() {
        for (printed, one) in [
            ("three", "3"),
            ("03", "3"),
            ("third", "3rd"),
            ("3d", "3rd"),
            ("2d", "2nd"),
            ("11th", "11th"),
            ("twelfth", "12th"),
            ("dozen", "12"),
            ("knit", "knit"),
            ("d", "d"),
        ] {
            assert_eq!(spelling(printed), one);
        }
        assert_eq!(pieces("k2tog"), ["k", "2", "tog"]);
        assert_eq!(pieces("3rd"), ["3rd"]);
        assert_eq!(cardinal("99999999999999999999"), None);
    }
}
