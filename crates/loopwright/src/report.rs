//! What people are shown on the terminal: the rows in a table, then remarks with the text they are about.

mod excerpt;

use std::fmt::Write as _;

use annotate_snippets::{AnnotationKind, Group, Level, Patch, Renderer, Snippet};
use span::Span;

use crate::checked::{Checked, piece_name};
use crate::remark::{Remark, RemarkKind, correction, remarks};
use crate::report::excerpt::{Excerpt, Page};
use crate::rows::table;
use wording::Terms;

/// Remarks of one kind that are shown; of more, only the number is told.
const SHOWN: usize = 20;
/// The most letters of words that are listed.
const LONGEST: usize = 100;

/// A reading: the rows of every piece, the remarks, and the sum of it in one line.
pub fn reading(checked: &Checked) -> String {
    let pieces = &checked.reading().pieces;
    if pieces.is_empty() {
        return format!(
            "{}: no knitting pattern was found in it, neither a cast-on nor rows\n",
            checked.source.name
        );
    }
    let mut out = String::new();
    for (index, piece) in pieces.iter().enumerate() {
        if let Some(name) = piece_name(pieces, index) {
            let _ = writeln!(out, "{name}");
        }
        let _ = writeln!(out, "{}", table(piece, Terms::Us));
    }
    let remarks = remarks(checked);
    let page = Page::of(&checked.source);
    out.push_str(&page.shown(&remarks));
    let _ = writeln!(out, "{}: {}", checked.source.name, sum(checked, &remarks));
    out
}

/// The corrections to choose from, best first, each with its reasons.
pub fn mending(checked: &Checked, top: usize) -> String {
    let name = &checked.source.name;
    let candidates = &checked.mending.candidates;
    let page = Page::of(&checked.source);
    let mut out = String::new();
    for (index, mended) in candidates.iter().take(top).enumerate() {
        let _ = writeln!(out, "{}. cost {:.1}", index + 1, mended.cost);
        for one in &mended.emendations {
            let _ = writeln!(out, "{}\n", page.remark(&correction(&mended.reading, one)));
        }
    }
    let verdict = match candidates.len() {
        0 if checked.reading().pieces.is_empty() => "no knitting pattern was found in it".to_owned(),
        0 => no_correction(checked),
        1 if checked.mending.sure => "this correction is sure enough to be applied".to_owned(),
        1 => "this is a doubt; the text is read as printed".to_owned(),
        _ if checked.mending.sure => "the first is sure enough to be applied".to_owned(),
        _ => "none is far enough ahead of the others; the text is read as printed".to_owned(),
    };
    let _ = writeln!(out, "{name}: {verdict}");
    out
}

/// How many faults stand, for commands that go on all the same; nothing where there are none.
pub fn warning(checked: &Checked) -> Option<String> {
    let faults = remarks(checked).iter().filter(|remark| remark.kind == RemarkKind::Fault).count();
    let name = &checked.source.name;
    (faults > 0).then(|| {
        format!("{name}: {} left as printed; `loopwright read` shows where", counted(faults, "fault"))
    })
}

fn no_correction(checked: &Checked) -> String {
    match remarks(checked).iter().filter(|remark| remark.kind == RemarkKind::Fault).count() {
        0 => "every row comes out; nothing needs to be mended".to_owned(),
        faults => format!("no correction was found that mends {}", counted(faults, "fault")),
    }
}

fn sum(checked: &Checked, remarks: &[Remark]) -> String {
    let pieces = &checked.reading().pieces;
    let rows = pieces.iter().map(|piece| piece.piece.rows.len()).sum();
    let of = |kind| remarks.iter().filter(|remark| remark.kind == kind).count();
    format!(
        "{} in {}, {}, {}, {}, {} not understood",
        counted(rows, "row"),
        counted(pieces.len(), "piece"),
        counted(of(RemarkKind::Fault), "fault"),
        counted(of(RemarkKind::Correction), "correction"),
        counted(of(RemarkKind::Choice) + of(RemarkKind::Assumption), "choice"),
        counted(of(RemarkKind::Unread), "passage"),
    )
}

/// "1 row", "3 rows"; "no rows" for none.
pub fn counted(count: usize, what: &str) -> String {
    match count {
        0 => format!("no {what}s"),
        1 => format!("1 {what}"),
        _ => format!("{count} {what}s"),
    }
}

impl Page<'_> {
    /// Remarks with the text they are about.
    fn shown(&self, remarks: &[Remark]) -> String {
        let mut out = String::new();
        for kind in remarks.chunk_by(|a, b| a.kind == b.kind) {
            let is_unread = kind.first().is_some_and(|remark| remark.kind == RemarkKind::Unread);
            if is_unread {
                out.push_str("not understood:\n");
            }
            for remark in kind.iter().take(SHOWN) {
                let shown = if is_unread { self.unread(remark) } else { self.remark(remark) + "\n" };
                let _ = writeln!(out, "{shown}");
            }
            if is_unread {
                out.push('\n');
            }
            if kind.len() > SHOWN {
                let _ = writeln!(out, "and {} more like these; --json tells them all\n", kind.len() - SHOWN);
            }
        }
        out
    }

    /// Words that were not understood, in one line with their place.
    fn unread(&self, remark: &Remark) -> String {
        let mut words: String = remark.message.chars().take(LONGEST).collect();
        if words.len() < remark.message.len() {
            words.push('…');
        }
        format!("  line {}: {words}", self.around(remark.span).line)
    }

    /// One remark with the text it is about.
    fn remark(&self, remark: &Remark) -> String {
        let (excerpt, advice) = (self.excerpt(remark.span), remark.advice());
        let mut first = Group::with_title(level(remark.kind).primary_title(remark.title()));
        if let Some(excerpt) = &excerpt {
            first = first.element(self.snippet(excerpt));
        }
        let mut groups = vec![first];
        match (&remark.reading, &excerpt) {
            (Some(reading), Some(excerpt)) if remark.kind == RemarkKind::Correction => {
                groups.push(self.patch(excerpt, reading, &remark.why));
            }
            _ if advice.is_empty() => {}
            _ => groups.push(Group::with_title(Level::NOTE.secondary_title(advice.as_str()))),
        }
        Renderer::styled().render(&groups)
    }

    fn snippet<'a>(&'a self, excerpt: &Excerpt<'a>) -> Snippet<'a, annotate_snippets::Annotation<'a>> {
        let mark = AnnotationKind::Primary.span(excerpt.range.clone());
        Snippet::source(excerpt.text).path(self.name()).line_start(excerpt.line).fold(true).annotation(mark)
    }

    fn patch<'a>(&self, excerpt: &Excerpt<'a>, corrected: &'a str, why: &'a str) -> Group<'a> {
        let patch = Patch::new(excerpt.range.clone(), corrected);
        let snippet = Snippet::source(excerpt.text).line_start(excerpt.line).fold(true).patch(patch);
        Group::with_title(Level::HELP.secondary_title(why)).element(snippet)
    }

    fn excerpt(&self, span: Span) -> Option<Excerpt<'_>> {
        (!span.is_detached()).then(|| self.around(span))
    }
}

fn level(kind: RemarkKind) -> Level<'static> {
    match kind {
        RemarkKind::Fault => Level::ERROR.with_name("fault"),
        RemarkKind::Correction => Level::WARNING.with_name("correction"),
        RemarkKind::Choice => Level::INFO.with_name("choice"),
        RemarkKind::Assumption => Level::INFO.with_name("assumed"),
        RemarkKind::Unread => Level::WARNING.with_name("not read"),
    }
}
