//! Finding and changing the parts of a telling by the way to them: the indices from list to list.

use loops::Op;

use crate::told::{Part, Said, Telling};
use crate::write::Prose;

/// The places that tell rows in their own words.
pub(super) fn own(prose: &Prose) -> impl Iterator<Item = (usize, &Telling)> {
    prose.tellings.iter().enumerate().filter(|(_, telling)| telling.like.is_none())
}

/// Calls `see` for every part with the way to it.
pub(super) fn visit(parts: &[Part], path: &mut Vec<usize>, see: &mut impl FnMut(&[usize], &Part)) {
    for (index, part) in parts.iter().enumerate() {
        path.push(index);
        see(path, part);
        // What no word stands for cannot be misprinted.
        if let Part::Group { parts, span, .. } = part
            && !span.is_detached()
        {
            visit(parts, path, see);
        }
        path.pop();
    }
}

/// Every instruction with the way to it.
pub(super) fn leaves(parts: &[Part]) -> Vec<(Vec<usize>, Said)> {
    let mut out = Vec::new();
    visit(parts, &mut Vec::new(), &mut |path, part| {
        if let Part::Work(said) = part {
            out.push((path.to_vec(), said.clone()));
        }
    });
    out
}

/// Parts with one list changed: that which holds the part at the end of the path.
pub(super) fn edited(
    parts: &[Part],
    path: &[usize],
    change: impl FnOnce(&mut Vec<Part>, usize),
) -> Vec<Part> {
    let mut all = parts.to_vec();
    let mut list = &mut all;
    let Some((&last, before)) = path.split_last() else { return all };
    for &index in before {
        match list.get_mut(index) {
            Some(Part::Group { parts, .. }) => list = parts,
            _ => return parts.to_vec(),
        }
    }
    if last < list.len() {
        change(list, last);
    }
    all
}

pub(super) fn changed(parts: &[Part], path: &[usize], change: impl FnOnce(&mut Part)) -> Vec<Part> {
    edited(parts, path, |parts, at| change(&mut parts[at]))
}

pub(super) fn with_op(parts: &[Part], path: &[usize], op: Op, count: u32) -> Vec<Part> {
    changed(parts, path, |part| {
        if let Part::Work(said) = part {
            (said.op, said.count) = (op, count * if said.count > 1 && count > 1 { said.count } else { 1 });
        }
    })
}

/// The list that holds the part at the end of a path.
pub(super) fn siblings<'a>(parts: &'a [Part], path: &[usize]) -> &'a [Part] {
    let Some((_, before)) = path.split_last() else { return parts };
    before.iter().fold(parts, |list, &index| match list.get(index) {
        Some(Part::Group { parts, .. }) => parts,
        _ => list,
    })
}

pub(super) fn as_work(part: &Part) -> Option<&Said> {
    if let Part::Work(said) = part { Some(said) } else { None }
}

pub(super) fn work_at(parts: &[Part], at: usize) -> Option<&Said> {
    parts.get(at).and_then(as_work)
}
