//! How corrections are weighed: against the print, against one another, and for whether the first may be applied.
//!
//! Knows nats and how much is amiss; no text and no reading. Every bound of the ranking stands here.

/// Nats by which a correction may be dearer than the print that it frees of something amiss, to be shown.
const SLACK: f64 = 3.0;
/// Nats by which a correction must be cheaper than the print where as much is amiss with it.
const CLEARLY: f64 = 9.0;
/// Nats behind the best at which no more corrected texts are read.
const BEHIND: f64 = 5.0;

/// Nats by which the first correction must be ahead of all others that give other stitches, and of the print, to be
/// applied without asking. More asks oftener; at two and a half nats one in twelve such corrections would be wrong if the
/// costs were exact.
const LEAD: f64 = 2.5;
/// The same for words put in: where they stood is known less well than the costs tell.
const LEAD_DROPPED: f64 = 3.5;

/// Nats for a correction that are too many for it to be applied without asking: another misprint, of a kind that is not
/// searched, may be likelier.
const DEAREST: f64 = 9.5;
/// Nats of regularity that speak for such a correction all the same.
const EVIDENT: f64 = 2.5;
/// Nats for a correction of a row that are too many where no regularity speaks for it at all. Of such corrections that were
/// ahead of all others one in four was wrong in texts with drawn misprints, of cheaper ones one in forty.
const DEAR: f64 = 7.55;
/// Nats of regularity that are any at all.
const ANY: f64 = 0.01;

/// Nats by which a text may be read less well for a doubt.
const AS_WELL: f64 = 1.0;
/// How many times as many nats of regularity, what is read less well taken off, speak for a doubt all the same.
const TWICE: f64 = 2.0;

/// Nats of regularity that speak for a correction so much that no dearer ones are read beside it.
const BORNE_OUT: f64 = 2.0;

/// What a text costs as read, and what is amiss with it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Standing {
    /// Nats against it.
    pub(super) cost: f64,
    /// What does not come out.
    pub(super) troubles: usize,
    /// Of that, what is sure to be wrong.
    pub(super) hard: usize,
    /// Stretches that are not understood.
    pub(super) unread: usize,
}

impl Standing {
    /// Whether a corrected text is better than this one, as printed.
    pub(super) fn is_mended_by(&self, corrected: &Standing) -> bool {
        let fewer = match self.hard {
            0 => corrected.troubles < self.troubles,
            hard => corrected.hard < hard,
        };
        let less = corrected.unread < self.unread;
        let slack = if fewer || less { SLACK } else { 0.0 };
        corrected.cost < self.cost + slack
            && (self.hard == 0 || fewer || corrected.cost < self.cost - CLEARLY)
    }
}

/// Whether a guess is so far behind the likeliest that it is not read, so many having been found.
pub(super) fn is_far_behind(rank: f64, least: f64, found: usize) -> bool {
    rank > least + BEHIND && found > 1
}

/// Whether a correction is far enough ahead of the next that gives other stitches, and of the print.
pub(super) fn is_ahead(of_next: f64, of_print: f64, puts_words_in: bool) -> bool {
    of_next >= if puts_words_in { LEAD_DROPPED } else { LEAD } && of_print >= LEAD
}

/// Whether a doubt that makes a text more regular by some nats outweighs that the text is read less well with it: what is
/// read less well is mostly no correction.
pub(super) fn outweighs(gain: f64, read_less_well: f64) -> bool {
    read_less_well <= AS_WELL || gain >= TWICE * read_less_well
}

/// Whether regularity speaks for a correction so much that rows that changed places are no likelier.
pub(super) fn is_borne_out(evidence: f64) -> bool {
    evidence >= BORNE_OUT
}

/// What tells whether a correction is too dear to be sure.
#[derive(Clone, Copy, Debug)]
pub(super) struct Price {
    /// Nats against it.
    pub(super) cost: f64,
    /// Nats of regularity that it gains.
    pub(super) evidence: f64,
    /// Whether it is the only one, and of a row.
    pub(super) alone: bool,
    /// Whether counts alone led to it.
    pub(super) counted: bool,
}

impl Price {
    /// Whether a correction is dear in itself and no regularity speaks for it all the same.
    pub(super) fn is_dear(&self) -> bool {
        let evident = self.alone && self.evidence >= EVIDENT;
        self.cost > DEAREST && !evident || self.counted && self.cost >= DEAR && self.evidence < ANY
    }
}

/// Nats behind the best correction within which what was passed over is read before that one is sure.
pub(super) fn is_rival(rank: f64, best: f64) -> bool {
    rank < best + LEAD_DROPPED
}

#[cfg(test)]
mod tests {
    use super::*;

    const PRINT: Standing = Standing { cost: 40.0, troubles: 2, hard: 2, unread: 1 };

    #[test]
    fn what_frees_the_print_of_something_may_cost_a_little() {
        let freed = |cost: f64| PRINT.is_mended_by(&Standing { cost, hard: 1, ..PRINT });
        assert!(freed(42.9) && !freed(43.1));
        let soft = Standing { hard: 0, ..PRINT };
        let freed = |cost: f64| soft.is_mended_by(&Standing { cost, troubles: 1, ..soft });
        assert!(freed(42.9) && !freed(43.1));
        let read = |cost: f64| soft.is_mended_by(&Standing { cost, unread: 0, ..soft });
        assert!(read(42.9) && !read(43.1));
        let alike = |cost: f64| soft.is_mended_by(&Standing { cost, ..soft });
        assert!(alike(39.9) && !alike(40.1), "what frees it of nothing may cost nothing");
    }

    #[test]
    fn what_leaves_as_much_amiss_must_be_clearly_cheaper() {
        let alike = |cost: f64| PRINT.is_mended_by(&Standing { cost, ..PRINT });
        assert!(alike(30.9) && !alike(31.1));
        let read = |cost: f64| PRINT.is_mended_by(&Standing { cost, unread: 0, ..PRINT });
        assert!(read(30.9) && !read(31.1), "though more of it is understood");
    }

    #[test]
    fn guesses_far_behind_are_read_only_until_two_are_found() {
        assert!(is_far_behind(8.1, 3.0, 2) && !is_far_behind(7.9, 3.0, 2));
        assert!(!is_far_behind(20.0, 3.0, 1));
    }

    #[test]
    fn the_first_must_lead_and_by_more_where_words_are_put_in() {
        assert!(is_ahead(2.6, 9.0, false) && !is_ahead(2.4, 9.0, false));
        assert!(is_ahead(3.6, 9.0, true) && !is_ahead(3.4, 9.0, true));
        assert!(is_ahead(9.0, 2.6, true) && !is_ahead(9.0, 2.4, false), "of the print as well");
        assert!(is_rival(6.4, 3.0) && !is_rival(6.6, 3.0));
    }

    #[test]
    fn a_doubt_that_is_read_less_well_must_be_twice_as_much_more_regular() {
        assert!(outweighs(3.0, -2.0) && outweighs(1.0, 0.9));
        assert!(outweighs(5.1, 2.5) && !outweighs(4.9, 2.5));
    }

    #[test]
    fn a_correction_that_regularity_bears_out_has_no_dearer_ones_beside_it() {
        assert!(is_borne_out(2.1) && !is_borne_out(1.9));
    }

    #[test]
    fn what_is_dear_needs_regularity() {
        let price = |cost: f64, evidence: f64| Price { cost, evidence, alone: true, counted: true };
        // A number off by one or two, and one further off.
        assert!(!price(7.5, 0.0).is_dear() && price(7.6, 0.0).is_dear());
        assert!(price(7.6, 0.005).is_dear() && !price(7.6, 0.02).is_dear());
        assert!(!Price { counted: false, ..price(7.6, 0.0) }.is_dear());
        assert!(!price(9.4, 2.4).is_dear() && price(9.6, 2.4).is_dear() && !price(9.6, 2.6).is_dear());
        assert!(Price { alone: false, ..price(9.6, 2.6) }.is_dear());
    }
}
