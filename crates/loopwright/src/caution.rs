//! Cautions for things that can hurt someone: what is knitted for a baby, cords, small parts, fire, pins.
//!
//! Knows words of the pattern that point to a danger, and the usual cautions, which are common practice and have no
//! published source; it gives no rules of any place and defers to them.

/// One caution, and the words of a pattern that call for it.
struct Caution {
    words: &'static [&'static str],
    told: &'static str,
}

const CAUTIONS: [Caution; 5] = [
    Caution {
        words: &[
            "baby",
            "babies",
            "infant",
            "infants",
            "carriage",
            "perambulator",
            "pram",
            "cot",
            "cradle",
            "crib",
            "bassinet",
            "bassinette",
            "berceaunette",
        ],
        told: "For a baby: keep coverings away from the face, and put nothing loose or thick beside a sleeping child; ask \
               those who advise on safe sleep where you live.",
    },
    Caution {
        words: &[
            "ribbon", "ribbons", "cord", "cords", "string", "strings", "tie", "ties", "tied", "tassel",
            "tassels",
        ],
        told: "Cords and ribbons can strangle: leave them off what a baby or small child wears or lies under, and keep \
               them short on anything else for a child.",
    },
    Caution {
        words: &[
            "button", "buttons", "bead", "beads", "pompon", "pompons", "tuft", "tufts", "bell", "bells",
            "buckle",
        ],
        told: "Buttons, beads and other small parts can be swallowed: sew them on so that they cannot come off, or leave \
               them out where a small child may reach them.",
    },
    Caution {
        words: &["night", "nightgown", "nightdress", "kettle", "lamp", "iron", "candle", "stove", "cotton"],
        told: "Cotton and other plant fibres, and anything loose and hairy, catch fire easily: keep them from flames and \
               hot metal, and do not use them for a child's night clothes.",
    },
    Caution {
        words: &["brooch", "hairpin", "wire", "pinned"],
        told: "Pins and wire have points: count pins out and in again, and leave none in the finished thing.",
    },
];

/// What is said after any caution.
const DEFER: &str = "These are the usual cautions and no more: the rules for such things differ from place to place, and those \
                     of the place where it is used or sold come first.";

/// The cautions that the words of a pattern call for, in their order; none where nothing points to a danger.
pub fn cautions(text: &str) -> Vec<&'static str> {
    let text = text.to_lowercase();
    let words: Vec<&str> = text.split(|c: char| !c.is_alphabetic()).collect();
    let called = |caution: &&Caution| words.iter().any(|word| caution.words.contains(word));
    let mut told: Vec<&str> = CAUTIONS.iter().filter(called).map(|caution| caution.told).collect();
    if !told.is_empty() {
        told.push(DEFER);
    }
    told
}

#[cfg(test)]
mod tests {
    use super::cautions;

    #[test]
    fn the_words_of_a_pattern_call_for_them() {
        let told = cautions("AN INFANT'S BOOT. Tie it with ribbon, and sew on a button.");
        for (place, word) in
            ["safe sleep", "strangle", "swallowed", "differ from place"].into_iter().enumerate()
        {
            assert!(told[place].contains(word), "{told:?}");
        }
        assert_eq!(told.len(), 4);
        assert!(cautions("A rug for the parlour, in eight-thread fleecy.").is_empty());
        assert!(cautions("The recording of the accordion.").is_empty(), "whole words only");
    }
}
