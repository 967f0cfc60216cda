//! The paragraph of an old text that names what is needed, quoted as it stands.

use crate::choice::one_line;

/// Words that such a paragraph begins with; common practice, no published source.
const HEADS: [&str; 5] = ["materials", "materials required", "requirements", "required", "you will need"];
/// With these words the work begins, in the same paragraph perhaps.
const BEGINNINGS: [&str; 3] = [" cast on", " make a chain", " make a foundation"];
/// A longer paragraph is no list of materials.
const LONGEST: usize = 1_200;

/// The paragraphs of the text that name the materials, without their first word.
pub fn materials(text: &str) -> Vec<String> {
    let paragraphs = text.replace('\r', "");
    paragraphs.split("\n\n").filter_map(|paragraph| materials_in(&one_line(paragraph))).collect()
}

fn materials_in(paragraph: &str) -> Option<String> {
    let bare = paragraph.trim_start_matches(['_', '*']);
    let is_end = |c: char| !c.is_alphabetic() && c != ' ';
    let (head, rest) = bare.split_at(bare.find(is_end)?);
    let rest = before_work(rest.trim_start_matches(['_', '*', '.', ':', '-', '–', '—', ' ']));
    let is_head = HEADS.contains(&head.trim().to_lowercase().as_str());
    (is_head && !rest.is_empty() && rest.len() <= LONGEST).then(|| rest.to_owned())
}

/// The sentences before the one that begins the work.
fn before_work(text: &str) -> &str {
    let lower = text.to_ascii_lowercase();
    let ends = lower.match_indices(['.', ';']).map(|(at, _)| at + 1);
    let begins = |end: &usize| BEGINNINGS.iter().any(|words| lower[*end..].starts_with(words));
    ends.into_iter().find(begins).map_or(text, |end| &text[..end])
}

#[cfg(test)]
mod tests {
    use super::materials;

    #[test]
    fn the_paragraph_is_quoted_without_its_head() {
        let wool = "Two ounces of wool; pins No. 8.";
        for head in ["MATERIALS.--", "_Materials._—", "Materials: ", "You will need: "] {
            assert_eq!(
                materials(&format!("A RUG.\r\n\r\n{head}Two ounces of\r\nwool; pins No. 8.\n\nCast on 3.")),
                [wool]
            );
        }
        let with_work = materials("Materials: white wool; pins No. 8. Cast on 27. Knit four rows.\n");
        assert_eq!(with_work, ["white wool; pins No. 8."]);
        assert!(materials("Materials are dear this year.\n\nMATERIALS.\n\nCast on 3.").is_empty());
    }
}
