//! The order of work for a thing of several pieces, and the days it takes.
//!
//! What waits for something else comes after it; otherwise the order is that of the plan. Days are handed in: no clock
//! is asked.

use jiff::civil::{Date, Weekday};

/// Something to knit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Task {
    /// What it is called.
    pub name: String,
    /// Stitches of all of it.
    pub stitches: u64,
    /// What must be done before, as places in the list.
    pub after: Vec<usize>,
}

/// Tasks that wait for each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Circle(pub Vec<usize>);

/// When there is time.
#[derive(Clone, Debug, PartialEq)]
pub struct Days {
    /// The first day.
    pub start: Date,
    /// Minutes a day, more than none.
    pub minutes: f64,
    /// Weekdays on which nothing is knitted.
    pub rest: Vec<Weekday>,
}

/// The first and the last day of a task.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// The first.
    pub first: Date,
    /// The last.
    pub last: Date,
}

/// Days beyond which nothing is planned: ten years.
const HORIZON: usize = 3660;

/// The tasks in an order in which they can be done.
///
/// # Errors
/// [`Circle`] with those that wait for each other.
pub fn order(tasks: &[Task]) -> Result<Vec<usize>, Circle> {
    let mut done: Vec<usize> = Vec::with_capacity(tasks.len());
    while done.len() < tasks.len() {
        let waits =
            |task: &Task| task.after.iter().any(|before| *before < tasks.len() && !done.contains(before));
        let next = (0..tasks.len()).find(|index| !done.contains(index) && !waits(&tasks[*index]));
        match next {
            Some(next) => done.push(next),
            None => return Err(Circle((0..tasks.len()).filter(|index| !done.contains(index)).collect())),
        }
    }
    Ok(done)
}

impl Days {
    /// The days of tasks that take so many minutes, one after the other; `None` where that is longer than ten years, or
    /// no day has time.
    pub fn of(&self, minutes: &[f64]) -> Option<Vec<Span>> {
        let is_free = |day: &Date| !self.rest.contains(&day.weekday());
        let mut free =
            std::iter::successors(Some(self.start), |day| day.tomorrow().ok()).take(HORIZON).filter(is_free);
        let (mut day, mut left) = (free.next()?, self.minutes);
        let mut spans = Vec::with_capacity(minutes.len());
        for &needed in minutes {
            let mut needed = needed;
            if left <= 0.0 {
                (day, left) = (free.next()?, self.minutes);
            }
            let first = day;
            while needed > left {
                needed -= left;
                (day, left) = (free.next()?, self.minutes);
            }
            left -= needed;
            spans.push(Span { first, last: day });
        }
        Some(spans)
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn task(name: &str, after: &[usize]) -> Task {
        Task { name: name.to_owned(), stitches: 100, after: after.to_vec() }
    }

    #[test]
    fn what_waits_comes_after() {
        let tasks = [task("border", &[1, 2]), task("square", &[]), task("round", &[])];
        assert_eq!(order(&tasks), Ok(vec![1, 2, 0]));
        let circle = [task("a", &[1]), task("b", &[0]), task("c", &[])];
        assert_eq!(order(&circle), Err(Circle(vec![0, 1])));
    }

    #[test]
    fn days_of_rest_are_passed_over() {
        let start = date(2026, 11, 28);
        let days = Days { start, minutes: 60.0, rest: vec![Weekday::Sunday] };
        let spans = days.of(&[90.0, 30.0, 10.0]).expect("few days");
        assert_eq!(spans[0], Span { first: start, last: date(2026, 11, 30) });
        assert_eq!(spans[1], Span { first: date(2026, 11, 30), last: date(2026, 11, 30) });
        assert_eq!(spans[2], Span { first: date(2026, 12, 1), last: date(2026, 12, 1) });
    }

    #[test]
    fn what_never_ends_is_not_planned() {
        let days = Days { start: date(2026, 1, 1), minutes: 1.0, rest: Vec::new() };
        assert_eq!(days.of(&[1e9]), None);
    }
}
