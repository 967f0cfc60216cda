//! How often hands slip: the one table of chances behind the order in which slips are named.
//!
//! From memory of own knitting and of what teachers of it warn of; no published source was found. Only the order of
//! size matters: a yarn over is forgotten far oftener than two plain stitches are taken together. A chance is per
//! opportunity, so that a row with twenty yarn overs is likelier to lack one than a row with two.

/// A yarn over forgotten, for each yarn over. The commonest slip in lace: nothing is left on the needle to remind of it.
pub(crate) const YARN_OVER_MISSED: f64 = 1.0 / 250.0;
/// A double or triple yarn over wound once less, for each.
pub(crate) const WOUND_LESS: f64 = 1.0 / 250.0;
/// Another increase left out, for each. Rarer: it is worked into something.
pub(crate) const INCREASE_MISSED: f64 = 1.0 / 500.0;
/// A decrease worked as single stitches, for each.
pub(crate) const DECREASE_MISSED: f64 = 1.0 / 500.0;
/// Of a decrease of three or more, one stitch not taken along, for each.
pub(crate) const DECREASE_SHORT: f64 = 1.0 / 600.0;
/// A yarn over by accident where the yarn is moved between knitting and purling, for each such place.
pub(crate) const YARN_OVER_EXTRA_AT_CHANGE: f64 = 1.0 / 4000.0;
/// A yarn over by accident elsewhere, for each stitch; the edges are such places too.
pub(crate) const YARN_OVER_EXTRA: f64 = 1.0 / 20_000.0;
/// Two single stitches taken together, for each pair.
pub(crate) const TAKEN_TOGETHER: f64 = 1.0 / 5000.0;
/// A stitch dropped, for each.
pub(crate) const DROPPED: f64 = 1.0 / 6000.0;
/// A yarn over of the row before slipped off or taken along with its neighbour, for each.
pub(crate) const YARN_OVER_LOST: f64 = 1.0 / 1200.0;
/// A repeat worked plain, for each.
pub(crate) const REPEAT_PLAIN: f64 = 1.0 / 2500.0;
/// Another row of the pattern worked for this one, for each that can be.
pub(crate) const OTHER_ROW: f64 = 1.0 / 1500.0;
/// A misreading of one place of the repeat that is then made in every repeat, for each place of the repeat.
pub(crate) const EVERY_REPEAT: f64 = 1.0 / 3000.0;
/// One bound off too many or too few, for each run of them.
pub(crate) const BOUND_OFF: f64 = 1.0 / 150.0;
/// One cast on too many or too few, for each stitch of the cast-on: of a few nobody loses count, of two hundred many.
pub(crate) const CAST_ON: f64 = 1.0 / 1500.0;

/// That a slip in the row before was not seen before this row was done.
pub(crate) const UNNOTICED: f64 = 0.4;
/// The same where this row is not plain: it would hardly have come out.
pub(crate) const UNNOTICED_IN_PATTERN: f64 = 0.1;
/// How much likelier hands slip at the first stitches of a row or the last than elsewhere.
pub(crate) const AT_AN_EDGE: f64 = 1.5;

/// Nats against what she sees, where the eye is so many stitches off: counting along a row goes
/// wrong by one in one case of ten or so, seldom by more.
pub(crate) const EYE_OFF: [f64; 3] = [0.1, 2.5, 5.0];
/// Nats against the yarn overs that she counts in a row, where they are so many off: they are few and stand out, so
/// that one count in twenty is wrong by one.
pub(crate) const YARN_OVERS_OFF: [f64; 2] = [0.05, 3.7];
/// Nats against the places where stitches lie together, where they are so many off: they stand out less than holes, so
/// that one count in ten is wrong by one.
pub(crate) const TOGETHER_OFF: [f64; 2] = [0.1, 3.0];
/// Nats against a dropped stitch whose loop she does not see: one in eight is overlooked, mostly among purls.
pub(crate) const LOOP_OVERLOOKED: f64 = 2.1;
/// Nats against anything further off, or seen where nothing should be, or the other way round.
pub(crate) const NOT_SEEN: f64 = 8.0;
