//! Doubts about misprints: what she decided, what is sure, and what is open, each with all its ways out.
//!
//! A doubt belongs to one place of the print. Corrections of one candidate that stand in different places are doubts of
//! their own; other candidates are options of the doubt whose correction they do without.

use mending::{Emendation, Mended, Ruling};
use reading::Reading;
use span::Span;

use super::Subject;
use super::carry::{Earlier, touch};
use super::diff::Difference;
use crate::app::wire::{self, Change, Doubt, DoubtKind, DoubtOption, DoubtState};
use crate::choice::one_line;
use crate::remark::{Remark, capital, correction, correction_in_words};

/// What is said of a place that more than one correction would mend.
const OPEN: &str = "perhaps a misprint";
/// What is said of a place that was left alone.
const LEFT: &str = "left as printed";
const AS_PRINTED: &str = "Leave as printed";

/// One way to correct one place, or several that go together.
struct Way<'a> {
    corrections: Vec<&'a Emendation>,
    cost: f64,
    reading: &'a Reading,
}

impl Subject<'_> {
    /// All doubts about misprints.
    pub fn corrections(&self, earlier: Option<&Earlier>) -> Vec<Doubt> {
        let mut all = self.ruled(earlier);
        if self.checked.mending.searched {
            all.extend(self.found());
        } else if let Some(earlier) = earlier {
            let standing = earlier.corrections_in(&self.checked.source.text);
            all.extend(standing.into_iter().filter(|doubt| !self.is_decided(doubt)));
        }
        all
    }

    /// Whether she decided about something that a doubt offers.
    fn is_decided(&self, doubt: &Doubt) -> bool {
        let spans: Vec<_> = self.given.rulings.iter().map(|ruling| self.places.at(ruling.span)).collect();
        let mut changes = doubt.options.iter().flat_map(|option| &option.change);
        changes.any(|change| matches!(change, Change::Rule { ruling } if spans.contains(&Some(ruling.at))))
    }

    /// What the search found, best first in each place.
    fn found(&self) -> Vec<Doubt> {
        let mending = &self.checked.mending;
        let Some(first) = mending.candidates.first() else { return Vec::new() };
        let mut ways: Vec<Vec<Way<'_>>> = first
            .emendations
            .iter()
            .map(|one| vec![Way { corrections: vec![one], cost: first.cost, reading: &first.reading }])
            .collect();
        for other in &mending.candidates[1..] {
            add_other(&mut ways, first, other);
        }
        ways.iter().map(|ways| self.found_at(ways)).collect()
    }

    fn found_at(&self, ways: &[Way<'_>]) -> Doubt {
        let mending = &self.checked.mending;
        let least = ways.first().map_or(0.0, |way| way.cost);
        let is_first = |one: &Emendation| ways[0].corrections.iter().any(|first| same(first, one));
        let settled = self.checked.emendations().any(is_first);
        let mut options: Vec<DoubtOption> = ways
            .iter()
            .enumerate()
            .map(|(place, way)| {
                let row = Some(way.corrections[0].row.as_str());
                DoubtOption {
                    label: self.label(way.corrections.iter().copied()),
                    chosen: settled && place == 0,
                    change: way.corrections.iter().filter_map(|one| self.rule(&ruling(one, true))).collect(),
                    cost: Some(rounded(way.cost - least)),
                    ..DoubtOption::default()
                }
                .with(Difference::of(&mending.printed, way.reading, row, self.given.terms))
            })
            .collect();
        let offered = ways.iter().flat_map(|way| &way.corrections);
        let refused: Vec<Ruling> = offered.map(|one| ruling(one, false)).collect();
        options.push(as_printed(self.leave(&refused), false));
        let mut doubt = self.doubt(&correction(self.checked.reading(), ways[0].corrections[0]), options);
        if settled {
            (doubt.state, doubt.sure) = (DoubtState::Settled, true);
        } else if ways.len() > 1 {
            doubt.title = match doubt.place.as_str() {
                "" => capital(OPEN),
                place => format!("{place}: {OPEN}"),
            };
        }
        doubt
    }

    /// What she decided, one doubt for each row: what was taken there, or what was left as printed.
    fn ruled(&self, earlier: Option<&Earlier>) -> Vec<Doubt> {
        let text = &self.checked.source.text;
        let is_applied = |ruling: &Ruling| self.checked.mending.taken.iter().any(|one| is_of(one, ruling));
        let in_force = |ruling: &&Ruling| {
            ruling.span.of(text) == ruling.printed
                && (!ruling.taken || ruling.leaves_alone() || is_applied(ruling))
        };
        let mut open: Vec<&Ruling> = self.given.rulings.iter().filter(in_force).collect();
        let bare = (self.checked.mending.searched && !self.checked.mending.taken.is_empty())
            .then(|| self.checked.read_bare());
        let mut doubts = Vec::new();
        // A correction that was taken is a doubt of its own; the first of a row has what was refused there as options.
        while let Some(taken) = take_first(&mut open, is_correction) {
            let beside = |other: &&Ruling| !is_correction(other) && self.is_beside(taken, other);
            let (here, elsewhere) = open.into_iter().partition(beside);
            open = elsewhere;
            doubts.push(self.decided(taken, &here, bare.as_ref(), earlier));
        }
        while let Some(first) = take_first(&mut open, |_| true) {
            let (mut here, elsewhere): (Vec<&Ruling>, Vec<&Ruling>) =
                open.into_iter().partition(|other| self.is_beside(first, other));
            open = elsewhere;
            here.insert(0, first);
            doubts.push(self.left(&here, earlier));
        }
        doubts
    }

    /// A correction that was taken, with what was refused in its row.
    fn decided(
        &self,
        taken: &Ruling,
        beside: &[&Ruling],
        bare: Option<&Reading>,
        earlier: Option<&Earlier>,
    ) -> Doubt {
        let mut option = self.option(taken, true, vec![Change::Rule { ruling: self.wire(taken) }], earlier);
        if let Some(bare) = bare {
            let row = self.row_of(taken);
            option = option.with(Difference::of(bare, self.checked.reading(), Some(&row), self.given.terms));
        }
        let mut options = vec![option];
        options.extend(
            beside
                .iter()
                .filter(|other| !other.leaves_alone())
                .map(|other| self.option(other, false, vec![self.unrule(taken), self.take(other)], earlier)),
        );
        options.push(as_printed(self.leave(&[Ruling { taken: false, ..taken.clone() }]), false));
        let mut doubt = self.doubt(&self.told(taken), options);
        doubt.state = DoubtState::Taken;
        doubt
    }

    /// A row that was left as printed, with the corrections that were refused there.
    fn left(&self, here: &[&Ruling], earlier: Option<&Earlier>) -> Doubt {
        let (kept, refused): (Vec<&Ruling>, Vec<&Ruling>) =
            here.iter().partition(|ruling| ruling.leaves_alone());
        let freed: Vec<Change> = kept.iter().map(|kept| self.unrule(kept)).collect();
        let mut options: Vec<DoubtOption> = refused
            .iter()
            .map(|other| {
                let change = freed.iter().cloned().chain([self.take(other)]).collect();
                self.option(other, false, change, earlier)
            })
            .collect();
        let again = here.iter().map(|ruling| Change::Rule { ruling: self.wire(ruling) });
        options.push(as_printed(again.collect(), true));
        let mut doubt = match refused.first() {
            Some(first) => self.doubt(&self.told(first), options),
            None => self.doubt(&self.told(here[0]), options),
        };
        doubt.title = match doubt.place.as_str() {
            "" => capital(LEFT),
            place => format!("{place}: {LEFT}"),
        };
        doubt.state = DoubtState::Refused;
        doubt
    }

    /// The changes that refuse corrections, and leave the row of the first as it is printed.
    fn leave(&self, refused: &[Ruling]) -> Vec<Change> {
        let mut changes: Vec<Change> = refused.iter().filter_map(|ruling| self.rule(ruling)).collect();
        let row = refused.first().and_then(|first| self.row_words(first.span));
        let words = row.map(|row| (row, row.of(&self.checked.source.text)));
        if let Some((span, words)) = words.filter(|(_, words)| words.len() <= shelf::LINE_LIMIT) {
            let (printed, corrected) = (words.to_owned(), words.to_owned());
            changes.extend(self.rule(&Ruling { span, printed, corrected, why: String::new(), taken: true }));
        }
        changes
    }

    fn take(&self, ruling: &Ruling) -> Change {
        Change::Rule { ruling: wire::Ruling { taken: true, ..self.wire(ruling) } }
    }

    fn unrule(&self, ruling: &Ruling) -> Change {
        Change::Unrule { at: self.wire(ruling).at, corrected: ruling.corrected.clone() }
    }

    /// The words of the row that a place is in.
    fn row_words(&self, place: Span) -> Option<Span> {
        let pieces = &self.checked.reading().pieces;
        let mut rows = pieces.iter().flat_map(|piece| &piece.piece.rows);
        rows.find(|row| row.span.covers(place)).map(|row| row.span)
    }

    fn option(
        &self,
        ruling: &Ruling,
        chosen: bool,
        change: Vec<Change>,
        earlier: Option<&Earlier>,
    ) -> DoubtOption {
        let told = earlier.and_then(|earlier| earlier.difference_of(&ruling.corrected, &ruling.printed));
        let label = self.label([&emendation(ruling, String::new())]);
        DoubtOption { label, chosen, change, ..DoubtOption::default() }.with(told.unwrap_or_default())
    }

    /// A ruling as the remark on a correction.
    fn told(&self, ruling: &Ruling) -> Remark {
        correction(self.checked.reading(), &emendation(ruling, self.row_of(ruling)))
    }

    /// The label of the row that a ruling is in.
    fn row_of(&self, ruling: &Ruling) -> String {
        let pieces = &self.checked.reading().pieces;
        let mut rows = pieces.iter().flat_map(|piece| &piece.piece.rows);
        let row = rows.find(|row| row.span.covers(ruling.span));
        row.map_or_else(|| "cast on".to_owned(), |row| row.label.clone())
    }

    /// Whether two rulings are ways out of one doubt.
    fn is_beside(&self, one: &Ruling, other: &Ruling) -> bool {
        touch(one.span, other.span) || self.row_words(one.span).is_some_and(|row| row.covers(other.span))
    }

    fn doubt(&self, remark: &Remark, options: Vec<DoubtOption>) -> Doubt {
        let mut doubt = self.told_doubt(remark, DoubtKind::Correction);
        doubt.options = options;
        doubt
    }

    /// What corrections do; of words put in also after which others, for the same may be put in at several places.
    fn label<'a>(&self, corrections: impl IntoIterator<Item = &'a Emendation>) -> String {
        let words = corrections.into_iter().map(|one| match one.printed.as_str() {
            "" => format!("{} after \"{}\"", correction_in_words(one), self.before(one)),
            _ => correction_in_words(one),
        });
        capital(&words.collect::<Vec<_>>().join("; "))
    }

    /// The instruction that stands before a place.
    fn before(&self, one: &Emendation) -> String {
        let text = &self.checked.source.text;
        let before = text.get(..one.span.range().start).unwrap_or("").trim_end();
        let start = before.rfind([',', ';', ':', '.', '-', '\u{2014}', '\n']).map_or(0, |at| at + 1);
        one_line(before.get(start..).unwrap_or(before))
    }

    fn wire(&self, ruling: &Ruling) -> wire::Ruling {
        wire::Ruling {
            at: self.places.at(ruling.span).unwrap_or_default(),
            printed: ruling.printed.clone(),
            corrected: ruling.corrected.clone(),
            why: ruling.why.clone(),
            taken: ruling.taken,
        }
    }

    /// The change that takes or refuses a correction; `None` where it stands nowhere in the print.
    fn rule(&self, ruling: &Ruling) -> Option<Change> {
        (!ruling.span.is_detached()).then(|| Change::Rule { ruling: self.wire(ruling) })
    }
}

/// Files another candidate under the correction of the first that it does without, in the same row if there is one.
fn add_other<'a>(ways: &mut [Vec<Way<'a>>], first: &'a Mended, other: &'a Mended) {
    let has = |all: &[Emendation], one: &Emendation| all.iter().any(|other| same(one, other));
    let own: Vec<&Emendation> =
        other.emendations.iter().filter(|one| !has(&first.emendations, one)).collect();
    let lacks = |place: &usize| !has(&other.emendations, &first.emendations[*place]);
    let missing: Vec<usize> = (0..first.emendations.len()).filter(lacks).collect();
    let in_row = |place: &&usize| own.iter().any(|one| one.row == first.emendations[**place].row);
    let Some(&place) = missing.iter().find(in_row).or(missing.first()) else { return };
    if !own.is_empty() {
        ways[place].push(Way { corrections: own, cost: other.cost, reading: &other.reading });
    }
}

/// Takes the first of its kind out of a list.
fn take_first<'a>(open: &mut Vec<&'a Ruling>, is_it: impl Fn(&Ruling) -> bool) -> Option<&'a Ruling> {
    let place = open.iter().position(|ruling| is_it(ruling))?;
    Some(open.remove(place))
}

/// Whether a ruling is a correction that was taken.
fn is_correction(ruling: &Ruling) -> bool {
    ruling.taken && !ruling.leaves_alone()
}

fn same(one: &Emendation, other: &Emendation) -> bool {
    one.span == other.span && one.corrected == other.corrected
}

fn is_of(one: &Emendation, ruling: &Ruling) -> bool {
    one.span == ruling.span && one.corrected == ruling.corrected
}

fn ruling(one: &Emendation, taken: bool) -> Ruling {
    Ruling {
        span: one.span,
        printed: one.printed.clone(),
        corrected: one.corrected.clone(),
        why: one.why.clone(),
        taken,
    }
}

fn emendation(ruling: &Ruling, row: String) -> Emendation {
    Emendation {
        row,
        printed: ruling.printed.clone(),
        corrected: ruling.corrected.clone(),
        span: ruling.span,
        cost: 0.0,
        why: ruling.why.clone(),
    }
}

fn as_printed(change: Vec<Change>, chosen: bool) -> DoubtOption {
    DoubtOption { label: AS_PRINTED.to_owned(), chosen, change, ..DoubtOption::default() }
}

fn rounded(cost: f64) -> f64 {
    (cost * 1000.0).round() / 1000.0
}
