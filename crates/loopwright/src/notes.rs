//! The notes on the text as a plain file: every correction, choice, assumption, fault and word not understood.

use std::fmt::Write as _;

use crate::remark::{Remark, RemarkKind, capital};

/// The notes under a title, by kind.
pub fn notes(title: &str, remarks: &[Remark]) -> String {
    let mut out = format!("Notes on the text: {title}\n");
    if remarks.is_empty() {
        out.push_str("\nThe text was read as printed; nothing was corrected, and nothing was left open.\n");
    }
    for kind in remarks.chunk_by(|a, b| a.kind == b.kind) {
        let head = kind.first().map_or("", |remark| heading(remark.kind));
        let _ = writeln!(out, "\n{head}\n");
        for remark in kind {
            out.push_str(&note(remark));
        }
    }
    out
}

fn heading(kind: RemarkKind) -> &'static str {
    match kind {
        RemarkKind::Fault => "Faults left as printed",
        RemarkKind::Correction => "Corrections",
        RemarkKind::Choice => "Choices",
        RemarkKind::Assumption => "What the text does not say",
        RemarkKind::Unread => "Words not understood",
    }
}

fn note(remark: &Remark) -> String {
    let stop = if remark.kind == RemarkKind::Unread { "" } else { "." };
    let mut out = format!("- {}{stop}\n", remark.title());
    let advice = remark.advice();
    if !advice.is_empty() {
        let _ = writeln!(out, "  {}.", capital(&advice));
    }
    out
}
