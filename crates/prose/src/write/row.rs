//! The words of one row: its steps, repeats and endings.

use loops::Op;
use span::Span;
use wording::{Run, Step};

use crate::dialect::Repeat;
use crate::page::{Piece as Bit, pieces};
use crate::told::{Part, Said, Times};

use super::{Numbered, Writer};

impl Writer<'_> {
    /// The words of a row that is told in full.
    pub(super) fn row(&mut self, row: usize) -> Vec<Part> {
        let steps = self.house.phrases[row].steps.clone();
        if let [Step::Sweep { left: 0, .. } | Step::BindOffAll] = steps[..] {
            return vec![self.whole(&steps[0], row)];
        }
        let before = self.worked.rows[row].before - 2 * self.house.apart;
        let across = steps.iter().position(|step| matches!(step, Step::Across { .. }));
        let Some(across) = across else { return self.steps(&steps, before) };
        let Step::Across { unit, left } = steps[across].clone() else { return Vec::new() };
        let mut parts = self.steps(&steps[..across], before);
        let taken: u32 = steps[..across].iter().map(step_takes).sum();
        let room = before.saturating_sub(taken).saturating_sub(left);
        let times = room / unit.iter().map(part_takes).sum::<u32>().max(1);
        let suffix = &steps[across + 1..];
        let repeat = self.repeat_across(&unit, across == 0, suffix.is_empty(), times);
        if across > 0 {
            let joint = if repeat.as_ref().is_some_and(|repeat| repeat.id == "clause-times") {
                "; "
            } else {
                self.joint()
            };
            self.page.put(joint);
        }
        parts.push(self.group(&unit, repeat.as_ref(), times, Some(left)));
        // A repeat that says how often, or how many it leaves, must be followed by those.
        let counts =
            |repeat: &Repeat| ["{left}", "{more}", "{times}"].iter().any(|place| repeat.text.contains(place));
        let counted = repeat.as_ref().is_some_and(counts);
        if !suffix.is_empty() && !counted && is_cut_short(suffix, &unit) && self.rng.chance(15) {
            self.idioms.insert("across:cut-short-unsaid".to_owned());
            parts.push(silent(suffix));
        } else if let Some(op) = rest_of(suffix, &unit).filter(|_| !counted && self.rng.chance(25)) {
            self.idioms.insert("across:then-the-rest".to_owned());
            self.page.put(", ");
            parts.push(self.sweep(op, 0, true));
        } else if !suffix.is_empty() {
            self.page.put(", ");
            parts.extend(self.ending(suffix, before));
        }
        parts
    }

    /// The stitches after the repeat.
    pub(super) fn ending(&mut self, suffix: &[Step], before: u32) -> Vec<Part> {
        let template =
            self.rng.weigh(self.dialect.endings.iter().map(|choice| (choice.text.clone(), choice.w)));
        let template = template.unwrap_or_else(|| "{body}".to_owned());
        let mut parts = Vec::new();
        for bit in pieces(&template) {
            match bit {
                Bit::Text(text) => {
                    self.page.put(text);
                }
                Bit::Place("body") => parts = self.steps(suffix, before),
                Bit::Place(place) => self.row_word(place, self.house.row),
            }
        }
        self.idioms.insert(format!("ending:{template}"));
        parts
    }

    /// A row worked alike throughout: by one word, or counted.
    pub(super) fn whole(&mut self, step: &Step, row: usize) -> Part {
        let op = match step {
            Step::Sweep { verb, .. } => verb.op(),
            _ => Op::Bo,
        };
        let before = self.worked.rows[row].before;
        let breathes = self.worked.rows.iter().any(|row| row.before != before);
        if op != Op::Bo && !self.house.open && !breathes && self.rng.chance(15) {
            let said = self.say(Run { op, count: before - 2 * self.house.apart }, None);
            if let [said] = &said[..] {
                self.idioms.insert("whole:counted".to_owned());
                return Part::Work(said.clone());
            }
        }
        let words = self.rng.pick(self.dialect.whole.of(op)).cloned().unwrap_or_default();
        self.idioms.insert(format!("whole:{words}"));
        let span = self.page.put(&words);
        Part::Sweep { op, left: 0, span, number: None }
    }

    pub(super) fn steps(&mut self, steps: &[Step], before_row: u32) -> Vec<Part> {
        let mut parts = Vec::new();
        for (index, step) in steps.iter().enumerate() {
            let next = steps[index + 1..].first().and_then(first_op);
            let is_clause = match step {
                Step::Part(part @ wording::Part::Times { .. }) => self.clause_next(part),
                _ => None,
            };
            if index > 0 {
                let joint = if is_clause.is_some() { "; " } else { self.joint() };
                self.page.put(joint);
            }
            match step {
                Step::Part(wording::Part::Run(run)) => {
                    let before = index.checked_sub(1).and_then(|before| steps.get(before)).and_then(first_op);
                    if index == 0 && run.op == Op::Bo && steps.len() > 1 && self.rng.chance(12) {
                        parts.push(self.cast_off_but(run.count, before_row));
                        continue;
                    }
                    let apart =
                        before == Some(Op::Bo) && run.op == Op::K && run.count > 1 && self.rng.chance(25);
                    let said = if apart { self.say_apart(*run, next) } else { self.say(*run, next) };
                    parts.extend(said.into_iter().map(Part::Work));
                }
                Step::Part(wording::Part::Times { runs, times }) => {
                    let unit: Vec<wording::Part> = runs.iter().map(|&run| wording::Part::Run(run)).collect();
                    parts.push(self.group(&unit, is_clause.as_ref(), *times, None));
                }
                Step::Sweep { verb, left } => parts.push(self.sweep(verb.op(), *left, index > 0)),
                Step::BindOffAll => parts.push(self.sweep(Op::Bo, 0, index > 0)),
                Step::Across { unit, left } => {
                    let times = before_row / unit.iter().map(part_takes).sum::<u32>().max(1);
                    parts.push(self.group(unit, None, times, Some(*left)));
                }
            }
        }
        parts
    }

    /// The idiom for a part that is worked several times.
    pub(super) fn clause_next(&mut self, part: &wording::Part) -> Option<Repeat> {
        let wording::Part::Times { runs, .. } = part else { return None };
        let pair = runs.len() == 2;
        let fit = self.dialect.times.iter().filter(|repeat| pair || !repeat.text.contains("{a}"));
        self.rng.weigh(fit.map(|repeat| (repeat.clone(), repeat.w)))
    }

    pub(super) fn repeat_across(
        &mut self,
        unit: &[wording::Part],
        bare: bool,
        last: bool,
        times: u32,
    ) -> Option<Repeat> {
        let pair = matches!(unit, [wording::Part::Run(_), wording::Part::Run(_)]);
        let open = self.house.open;
        let fits = |repeat: &&Repeat| {
            let text = &repeat.text;
            let counted = text.contains("{more}") || text.contains("{times}");
            (bare || !repeat.bare)
                && (last || !repeat.last)
                && (!last || !text.contains("{left}"))
                && (pair || !text.contains("{a}"))
                && (!counted || !open && times > 1)
        };
        let fit: Vec<(Repeat, u32)> =
            self.dialect.across.iter().filter(fits).map(|repeat| (repeat.clone(), repeat.w)).collect();
        self.rng.weigh(fit)
    }

    /// A repeat; `left` tells how many stitches it leaves where it goes on across the row.
    pub(super) fn group(
        &mut self,
        unit: &[wording::Part],
        repeat: Option<&Repeat>,
        times: u32,
        left: Option<u32>,
    ) -> Part {
        let fallback = "* {body}; repeat from *".to_owned();
        let (id, template) =
            repeat.map_or(("star".to_owned(), fallback), |repeat| (repeat.id.clone(), repeat.text.clone()));
        let kind = if left.is_some() { "across" } else { "times" };
        self.idioms.insert(format!("{kind}:{id}"));
        let inner = if id.starts_with("clause") { Some(", ") } else { None };
        let start = self.page.here();
        let (mut parts, mut mark, mut number, mut printed) = (Vec::new(), None, None, 0);
        let counted = template.contains("{more}") || template.contains("{times}");
        let numbered = Numbered {
            times: if template.contains("{more}") { times - 1 } else { times },
            left: left.unwrap_or(0),
            ..Numbered::default()
        };
        let letter = char::from(self.letter).to_string();
        for bit in pieces(&template) {
            match bit {
                Bit::Text(text) => {
                    let span = self.page.put(text);
                    if let (None, Some(at)) = (mark, text.find('*')) {
                        let at = span.end as usize - text.len() + at;
                        mark = Some(Span::new(at, at + 1));
                    }
                }
                Bit::Place("x") => {
                    let span = self.page.put(&letter);
                    mark = mark.or(Some(Span::new(span.start as usize - 1, span.end as usize + 1)));
                }
                Bit::Place("body") => parts = self.unit(unit, inner),
                Bit::Place(member @ ("a" | "b")) => {
                    let index = usize::from(member == "b");
                    let next = unit.get(1 - index).and_then(part_first);
                    if let Some(wording::Part::Run(run)) = unit.get(index) {
                        parts.extend(self.say(*run, next).into_iter().map(Part::Work));
                    }
                }
                Bit::Place(place @ ("row" | "rows")) => self.row_word(place, self.house.row),
                Bit::Place(place) => {
                    number = Some(self.numeral(place, numbered));
                    printed = if place == "left" { numbered.left } else { numbered.times };
                }
            }
        }
        if template.contains("{x}") {
            self.letter = if self.letter >= b'f' { b'a' } else { self.letter + 1 };
        }
        let times = match left {
            Some(left) if !counted => Times::Across { left },
            _ => Times::All(times),
        };
        Part::Group { parts, times, span: self.page.since(start), mark, number, printed }
    }

    /// What is repeated.
    pub(super) fn unit(&mut self, unit: &[wording::Part], joint: Option<&str>) -> Vec<Part> {
        let mut parts = Vec::new();
        for (index, part) in unit.iter().enumerate() {
            // Behind the last stitch of a repeat comes its first.
            let next = unit.get(index + 1).or(unit.first()).and_then(part_first);
            match part {
                wording::Part::Run(run) => {
                    if index > 0 {
                        let joint = joint.unwrap_or_else(|| self.joint());
                        self.page.put(joint);
                    }
                    parts.extend(self.say(*run, next).into_iter().map(Part::Work));
                }
                wording::Part::Times { runs, times } => {
                    let repeat = self.clause_next(part).filter(|repeat| !repeat.text.contains('*'));
                    let inner: Vec<wording::Part> = runs.iter().map(|&run| wording::Part::Run(run)).collect();
                    if index > 0 {
                        let joint = if repeat.as_ref().is_some_and(|repeat| repeat.id == "clause") {
                            "; "
                        } else {
                            self.joint()
                        };
                        self.page.put(joint);
                    }
                    match repeat {
                        Some(repeat) => parts.push(self.group(&inner, Some(&repeat), *times, None)),
                        None => parts.extend(self.spelled(runs, *times)),
                    }
                }
            }
        }
        parts
    }

    /// A group said over as often as it is worked.
    pub(super) fn spelled(&mut self, runs: &[Run], times: u32) -> Vec<Part> {
        let all: Vec<Run> = (0..times).flat_map(|_| runs.iter().copied()).collect();
        let mut parts = Vec::new();
        for (index, run) in all.iter().enumerate() {
            if index > 0 {
                let joint = self.joint();
                self.page.put(joint);
            }
            parts.extend(self.say(*run, all.get(index + 1).map(|run| run.op)).into_iter().map(Part::Work));
        }
        self.idioms.insert("times:spelled".to_owned());
        parts
    }

    pub(super) fn sweep(&mut self, op: Op, left: u32, after: bool) -> Part {
        let start = self.page.here();
        let texts = if left > 0 { self.dialect.rest_to.of(op) } else { self.dialect.rest.of(op) };
        let texts = if texts.is_empty() || !after && left == 0 { self.dialect.whole.of(op) } else { texts };
        let template = self.rng.pick(texts).cloned().unwrap_or_default();
        let spans = self.fill(&template, Numbered { n: left, ..Numbered::default() });
        self.idioms.insert(format!("rest:{template}"));
        Part::Sweep { op, left, span: self.page.since(start), number: spans.get("n").copied() }
    }
}

/// A row with the plain stitches at its edges that its words leave out.
pub(super) fn edged(mut parts: Vec<Part>, edge: u32) -> Vec<Part> {
    if edge == 0 {
        return parts;
    }
    for part in &mut parts {
        if let Part::Sweep { left, .. } | Part::Group { times: Times::Across { left }, .. } = part {
            *left += edge;
        }
    }
    let plain = || silent(&[Step::Part(wording::Part::Run(Run { op: Op::K, count: edge }))]);
    parts.insert(0, plain());
    parts.push(plain());
    parts
}

/// Stitches that are worked though no word stands for them.
fn silent(steps: &[Step]) -> Part {
    let runs = steps
        .iter()
        .flat_map(|step| if let Step::Part(part) = step { part.runs().to_vec() } else { Vec::new() });
    let said =
        |run: Run| Said { op: run.op, count: run.count, span: Span::DETACHED, number: None, together: None };
    let parts = runs.map(|run| Part::Work(said(run))).collect();
    Part::Group { parts, times: Times::All(1), span: Span::DETACHED, mark: None, number: None, printed: 1 }
}

/// The operation of the stitches behind a repeat, where they are alike and fewer than one repeat takes.
fn rest_of(suffix: &[Step], unit: &[wording::Part]) -> Option<Op> {
    let [Step::Part(wording::Part::Run(run))] = suffix else { return None };
    let fewer = run.count < unit.iter().map(part_takes).sum();
    (fewer && matches!(run.op, Op::K | Op::P)).then_some(run.op)
}

/// Whether the stitches behind a repeat are only its beginning once more, and no hole closes them.
fn is_cut_short(suffix: &[Step], unit: &[wording::Part]) -> bool {
    let spelled = |parts: &mut dyn Iterator<Item = &wording::Part>| -> Option<Vec<Op>> {
        parts
            .map(|part| match part {
                wording::Part::Run(run) => Some(vec![run.op; run.count as usize]),
                wording::Part::Times { .. } => None,
            })
            .collect::<Option<Vec<_>>>()
            .map(|runs| runs.concat())
    };
    let parts: Option<Vec<&wording::Part>> =
        suffix.iter().map(|step| if let Step::Part(part) = step { Some(part) } else { None }).collect();
    let (Some(parts), Some(unit)) = (parts, spelled(&mut unit.iter())) else { return false };
    spelled(&mut parts.into_iter())
        .is_some_and(|ops| unit.starts_with(&ops) && ops.last().is_some_and(|op| op.takes() > 0))
}

fn first_op(step: &Step) -> Option<Op> {
    match step {
        Step::Part(part) => part_first(part),
        Step::Across { unit, .. } => unit.first().and_then(part_first),
        Step::Sweep { verb, .. } => Some(verb.op()),
        Step::BindOffAll => Some(Op::Bo),
    }
}

fn part_first(part: &wording::Part) -> Option<Op> {
    part.runs().first().map(|run| run.op)
}

fn part_takes(part: &wording::Part) -> u32 {
    let times = match part {
        wording::Part::Run(_) => 1,
        wording::Part::Times { times, .. } => *times,
    };
    times * part.runs().iter().map(|run| run.op.takes() * run.count).sum::<u32>()
}

fn step_takes(step: &Step) -> u32 {
    match step {
        Step::Part(part) => part_takes(part),
        _ => 0,
    }
}
