//! Parts of the work that are told one after the other, some of them as others before.
//!
//! "First division … Second: the same as the first. Third, fourth: the second division is to be repeated." Knows where
//! each part begins among the rows told.

use std::rc::Rc;

use super::Draft;

/// A part with its number, and where it begins.
pub(super) struct Section {
    number: u32,
    from: usize,
}

impl Draft {
    /// A part begins, or several that are told together. By its number alone only one that follows another does.
    pub(super) fn section(&mut self, numbers: &[u32], named: bool) {
        let Some(first) = numbers.first() else { return };
        let follows = self.sections.last().is_some_and(|last| *first == last.number + 1);
        if !named && !follows {
            return;
        }
        self.flush_loose();
        self.close_run();
        let from = self.plan.rows.len();
        self.sections.extend(numbers.iter().map(|number| Section { number: *number, from }));
    }

    /// The parts that were begun last are worked as an earlier one.
    pub(super) fn like_section(&mut self, number: u32) {
        let here = self.plan.rows.len();
        let begun = self.sections.iter().filter(|section| section.from == here).count();
        let Some(from) =
            self.sections.iter().find(|section| section.number == number).map(|section| section.from)
        else {
            return;
        };
        let next = self.sections.iter().map(|section| section.from).find(|next| *next > from);
        let Some(rows) = next.and_then(|next| self.plan.rows.get(from..next)).map(<[_]>::to_vec) else {
            return;
        };
        for _ in 0..begun {
            for row in &rows {
                self.append(Rc::clone(&row.readings), row.span, row.goes_on);
            }
        }
    }
}
