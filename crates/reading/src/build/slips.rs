//! Slipped stitches of one row, of which the first alone tells where the wool lies.
//!
//! "Knit six, slip two, keeping the wool at the back, knit six, slip two": it lies there for those that follow too.
//! Knows no words.

use std::rc::Rc;

use loops::Op;

use crate::ast::{Item, Seq, Work};

/// The row with all its slipped stitches like those that are told in full; the edge stitch that it may begin with is
/// left as it is. `None` where nothing changes, or where the wool is told to lie now here, now there.
pub(super) fn slipped_alike(seq: &Seq) -> Option<Seq> {
    let mut told = Vec::new();
    collect(seq, &mut told);
    let [full] = told.as_slice() else { return None };
    let mut items = seq.items();
    let begins = matches!(items.first(), Some(Item::Work(work)) if *work.ops == [Op::Slp]);
    let changed = items.iter_mut().skip(usize::from(begins)).filter_map(|item| set(item, *full)).count();
    (changed > 0).then(|| Seq::of(items)).flatten()
}

/// The ways of slipping with the wool before or behind, each once.
fn collect(seq: &Seq, out: &mut Vec<Op>) {
    for item in seq.items() {
        match item {
            Item::Work(work) => {
                if let [op @ (Op::SlWyif | Op::SlWyib)] = *work.ops
                    && !out.contains(&op)
                {
                    out.push(op);
                }
            }
            Item::Group { body, .. } => collect(&body, out),
            _ => {}
        }
    }
}

/// Sets what is slipped in an item to one way, if anything is.
fn set(item: &mut Item, full: Op) -> Option<()> {
    match item {
        Item::Work(work) if *work.ops == [Op::Slp] => {
            *work = Work { ops: Rc::from([full]), ..work.clone() };
            Some(())
        }
        Item::Group { body, .. } => {
            let mut items = body.items();
            let changed = items.iter_mut().filter_map(|item| set(item, full)).count();
            *body = Seq::of(items).filter(|_| changed > 0)?;
            Some(())
        }
        _ => None,
    }
}
