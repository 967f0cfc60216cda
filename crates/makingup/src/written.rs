//! A plan written as text, in the form in which people write it themselves.
//!
//! Comments of the text that stood there before stay with what they stand beside. Knows the form of the file alone.

use toml_edit::visit_mut::{VisitMut, visit_value_mut};
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, Value};

use crate::{PlanFile, Problem};

/// The keys by which an entry is known among those of its kind.
const NAMES: [&str; 4] = ["name", "colour", "printed", "piece"];

impl PlanFile {
    /// The text of the plan, with the comments of the text before.
    ///
    /// # Errors
    /// A [`Problem`] if something in the plan cannot be told in text.
    pub fn written(&self, before: &str) -> Result<String, Problem> {
        let untold =
            |error: String| Problem::new(format!("the plan cannot be written: {error}"), "undo the change");
        let plain = toml_edit::ser::to_string_pretty(self).map_err(|error| untold(error.to_string()))?;
        let mut document: DocumentMut =
            plain.parse().map_err(|error: toml_edit::TomlError| untold(error.message().to_owned()))?;
        WholeNumbers.visit_document_mut(&mut document);
        set_in_lines(&mut document);
        if let Ok(before) = before.parse::<DocumentMut>() {
            keep_comments(&before, &mut document);
            document.set_trailing(before.trailing().clone());
        }
        Ok(document.to_string())
    }
}

/// Writes 13 for 13.0.
struct WholeNumbers;

/// Beyond this not every whole number is a number of its own.
const EXACT: f64 = 9_007_199_254_740_992.0;

impl VisitMut for WholeNumbers {
    fn visit_value_mut(&mut self, value: &mut Value) {
        if let Some(number) = value.as_float().filter(|number| number.fract() == 0.0 && number.abs() < EXACT)
        {
            *value = Value::from(number as i64);
        }
        visit_value_mut(self, value);
    }
}

/// Puts what is short on one line; the rows of a block stay beneath each other.
fn set_in_lines(document: &mut DocumentMut) {
    for piece in tables(document, "piece") {
        for key in ["rows", "size"] {
            if let Some(Item::Table(table)) = piece.remove(key) {
                piece.insert(key, Item::Value(Value::InlineTable(table.into_inline_table())));
            }
        }
    }
    for needle in tables(document, "needle") {
        needle.get_mut("pieces").and_then(Item::as_array_mut).into_iter().for_each(|pieces| pieces.fmt());
    }
    let path = document.get_mut("edging").and_then(|edging| edging.get_mut("path"));
    if let Some(path) = path.and_then(Item::as_array_mut) {
        path.fmt();
        path.iter_mut().filter_map(Value::as_array_mut).for_each(|point| point.fmt());
    }
}

fn tables<'a>(document: &'a mut DocumentMut, key: &str) -> impl Iterator<Item = &'a mut Table> {
    document.get_mut(key).and_then(Item::as_array_of_tables_mut).into_iter().flat_map(ArrayOfTables::iter_mut)
}

/// Gives what stands in both the blank lines and comments that it had.
fn keep_comments(before: &Table, table: &mut Table) {
    for (mut key, item) in table.iter_mut() {
        let Some((old_key, old_item)) = before.get_key_value(&key) else { continue };
        *key.leaf_decor_mut() = old_key.leaf_decor().clone();
        match (old_item, item) {
            (Item::Value(old), Item::Value(new)) => *new.decor_mut() = old.decor().clone(),
            (Item::Table(old), Item::Table(new)) => keep_comments_of(old, new),
            (Item::ArrayOfTables(old), Item::ArrayOfTables(new)) => {
                for new in new.iter_mut() {
                    if let Some(old) = old.iter().find(|old| same_entry(old, new)) {
                        keep_comments_of(old, new);
                    }
                }
            }
            _ => {}
        }
    }
}

fn keep_comments_of(before: &Table, table: &mut Table) {
    *table.decor_mut() = before.decor().clone();
    keep_comments(before, table);
}

/// Whether two entries are of the same thing.
fn same_entry(one: &Table, other: &Table) -> bool {
    let name =
        |table: &Table| NAMES.iter().find_map(|key| table.get(key)).and_then(Item::as_str).map(str::to_owned);
    name(one).is_some() && name(one) == name(other)
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAN: &str = r#"# A rug.

title = "A Rug"
ease = 3 # as loose as it is

[swatch] # of plain fabric, washed
stitches = 9.5
rows = 13
over = "10 cm"

# The squares.
[[piece]]
name = "square"
count = 4
rows = { 1-3 = "red" }
size = { width = "8 in", height = "8 in" }

[[piece]]
name = "border" # its rows are one repeat

[block]
rows = [
    "square square@90",
    "square .",
]

[edging]
piece = "border"
path = [[0, 0], [60.5, 0], [60, 40]]
joined = "knitted-on"

[time]
start = "2026-12-01"
hours = 1.5

[[needle]]
number = "2"
gauge = "old-british"
pieces = ["square", "border"]
# The end.
"#;

    #[test]
    fn a_plan_written_again_is_the_same_text() {
        let written = PlanFile::read(PLAN).and_then(|plan| plan.written(PLAN));
        assert_eq!(written.as_deref(), Ok(PLAN));
    }

    #[test]
    fn a_comment_stays_with_the_piece_that_it_stands_beside() {
        let mut plan = PlanFile::read(PLAN).unwrap();
        plan.pieces.remove(0);
        plan.ease = 5.0;
        let written = plan.written(PLAN).unwrap();
        assert!(written.contains("[[piece]]\nname = \"border\" # its rows are one repeat\n"), "{written}");
        assert!(!written.contains("ease") && !written.contains("The squares"), "{written}");
        assert_eq!(PlanFile::read(&written), Ok(plan));
    }

    #[test]
    fn what_is_written_over_nothing_is_read_back() {
        let plan = PlanFile::read(PLAN).unwrap();
        assert_eq!(plan.written("no plan [").and_then(|text| PlanFile::read(&text)), Ok(plan));
    }
}
