//! What speaks for a correction, in words.

use std::rc::Rc;

use super::Kind;
use super::profile::Profile;

/// Why a row is more regular with a correction, in words; `labels` are the printed numbers of the rows.
pub fn reason(kind: Kind, rows: &[Rc<Profile>], row: usize, labels: &[&str]) -> Option<String> {
    let own = rows.get(row)?;
    let label = labels.get(row)?;
    let named = |other: usize| labels.get(other).copied().unwrap_or_default();
    match kind {
        Kind::Steps | Kind::Alike => progress(rows, row, labels).or_else(|| {
            let others: Vec<&str> = near_alike(rows, row).into_iter().map(named).collect();
            (!others.is_empty())
                .then(|| format!("{} made of the same stitches in the same order", rows_are(&others)))
        }),
        Kind::Mirror => Some(format!("only so do the two halves of row {label} answer each other")),
        Kind::Same => {
            let other = rows.iter().position(|other| other.words != own.words && other.whole == own.whole);
            let numbers =
                || rows.iter().position(|other| other.words != own.words && other.numbers() == own.numbers());
            match (other, numbers()) {
                (Some(other), _) => Some(format!("row {} says the same", named(other))),
                (None, Some(other)) => Some(format!("row {} has the same numbers", named(other))),
                _ => None,
            }
        }
        Kind::Repeats => {
            let (takes, makes) = own.repeat?;
            let other = rows.iter().position(|other| {
                other.words != own.words && other.repeat.is_some_and(|(width, _)| width == takes)
            })?;
            let even = if takes == makes { " and leaves as many" } else { "" };
            Some(format!(
                "the repeat of row {label} then takes {takes} stitches{even}, as that of row {}",
                named(other)
            ))
        }
        Kind::Border => {
            let alike = |other: &&Rc<Profile>| {
                let ends = other.flat.last() == own.flat.last() && other.flat.first() == own.flat.first();
                other.words != own.words && ends
            };
            let other = rows.iter().position(|other| alike(&other))?;
            Some(format!("row {label} then begins and ends as row {} does", named(other)))
        }
        Kind::Joined => Some(format!(
            "as printed row {label} tells plain stitches by two numbers side by side, as the others do not"
        )),
        Kind::Columns => Some(format!(
            "the holes and decreases of row {label} and the rows about it then stand on one another"
        )),
        Kind::Likeness => Some(format!("row {label} is then told as the rows about it")),
        Kind::Behind => {
            let other = row.checked_sub(1).map(named)?;
            Some(format!("only so does row {label} show row {other} from behind"))
        }
    }
}

/// Rows near this one with the same instructions in the same order.
fn near_alike(rows: &[Rc<Profile>], row: usize) -> Vec<usize> {
    let mut all: Vec<usize> = (row.saturating_sub(6)..(row + 7).min(rows.len()))
        .filter(|other| {
            rows[*other].skeleton == rows[row].skeleton
                && (*other == row || rows[*other].words != rows[row].words)
        })
        .collect();
    all.dedup_by_key(|other| rows[*other].words);
    all.retain(|other| *other != row);
    all
}

/// "the numbers of rows 1, 3 and 7 are 7, 9 and 13, and 11 belongs between".
fn progress(rows: &[Rc<Profile>], row: usize, labels: &[&str]) -> Option<String> {
    let near = near_alike(rows, row);
    if near.len() < 2 {
        return None;
    }
    let column = (0..rows[row].flat.len()).find(|at| {
        let times = |other: usize| rows[other].flat[*at].times;
        near.windows(2).any(|pair| times(pair[0]) != times(pair[1]))
    })?;
    let own = rows[row].flat[column].times;
    let numbers: Vec<String> = near.iter().map(|other| rows[*other].flat[column].times.to_string()).collect();
    let numbers: Vec<&str> = numbers.iter().map(String::as_str).collect();
    let named: Vec<&str> = near.iter().map(|other| labels.get(*other).copied().unwrap_or_default()).collect();
    let label = labels.get(row)?;
    Some(format!(
        "in rows {} the number is {}, and {own} in row {label} keeps the steps even",
        listed(&named),
        listed(&numbers)
    ))
}

fn rows_are(labels: &[&str]) -> String {
    if labels.len() == 1 { format!("row {} is", labels[0]) } else { format!("rows {} are", listed(labels)) }
}

/// `1, 3 and 7`.
pub fn listed(all: &[&str]) -> String {
    match all.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, before)) => format!("{} and {last}", before.join(", ")),
        None => String::new(),
    }
}
