//! The word lists of `data/words.toml`, by which the lattice and the names of rows go.
//!
//! Knows the lists; not the places where their words matter.

use std::collections::HashSet;
use std::sync::LazyLock;

use serde::Deserialize;

/// The lists.
pub static WORDS: LazyLock<Words> =
    LazyLock::new(|| toml::from_str(include_str!("../data/words.toml")).unwrap_or_default());

/// Lists of words in lower case.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Words {
    /// Verbs of the craft.
    pub verbs: HashSet<String>,
    /// Words that tell how so many rows are worked.
    pub ground: HashSet<String>,
    /// Words that name a thread by its colour.
    pub colours: HashSet<String>,
    /// Words of the senses that are common in talk too.
    pub common: HashSet<String>,
    /// What rows do.
    pub comes: HashSet<String>,
    /// Words that begin a clause before the first stitches.
    pub opening: HashSet<String>,
    /// Words which say that rows go on as they have begun.
    pub onward: HashSet<String>,
    /// What is counted that is no stitches.
    pub no_stitches: HashSet<String>,
    /// Words that are no part of a row's own name.
    pub no_name: HashSet<String>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lists_are_read() {
        let Words { verbs, ground, colours, common, comes, opening, onward, no_stitches, no_name } = &*WORDS;
        for list in [verbs, ground, colours, common, comes, opening, onward, no_stitches, no_name] {
            assert!(list.iter().all(|word| *word == word.to_lowercase()) && list.len() > 5, "{list:?}");
        }
    }
}
