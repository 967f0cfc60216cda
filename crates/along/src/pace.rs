//! How fast she knits, by her own log, and how long work takes at that pace.
//!
//! A log holds moments at which rows were done. Between two of them lie the stitches of the rows between, and perhaps a
//! pause: tea, a night. The pace is the median over stitches, which pauses do not move as long as less than half of the
//! stitches lie beside one. Moments are seconds of any clock; none is asked here.

/// A row that was done at a moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Logged {
    /// Rows worked by then.
    pub rows: usize,
    /// Seconds on some clock.
    pub at: i64,
}

/// Stitches a minute.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// The middle of what was measured.
    pub usual: f64,
    /// A quarter of the stitches went slower than this.
    pub slow: f64,
    /// A quarter of the stitches went faster than this.
    pub fast: f64,
}

/// Stretches that took so many times as long a stitch as the median hold a pause. A guess: hard rows take twice as long
/// as easy ones, seldom three times.
const PAUSE: f64 = 4.0;

/// Seconds a stitch below which nobody has knitted: rows were only looked through. The fastest hands that are told of
/// make some two stitches a second. From memory, no published source.
const LOOKED_THROUGH: f64 = 0.4;

/// The fewest stretches from which a pace is told.
const STRETCHES: usize = 3;

impl Pace {
    /// A pace that was not measured.
    pub fn told(per_minute: f64) -> Pace {
        Pace { usual: per_minute, slow: per_minute, fast: per_minute }
    }

    /// The pace of a log; `stitches` are those of each row. `None` when the log holds too little.
    ///
    /// Rows worked twice, after ripping back, are stretches like others; those in which no row came on are left out, and
    /// so are rows that were only looked through.
    pub fn measured(log: &[Logged], stitches: &[u64]) -> Option<Pace> {
        let mut stretches: Vec<(f64, f64)> =
            log.windows(2).filter_map(|pair| stretch(pair, stitches)).collect();
        if stretches.len() < STRETCHES {
            return None;
        }
        stretches.sort_by(|a, b| a.0.total_cmp(&b.0));
        let median = quantile(&stretches, 0.5);
        stretches.retain(|&(seconds, _)| seconds < PAUSE * median);
        let per_minute = |share| 60.0 / quantile(&stretches, share);
        Some(Pace { usual: per_minute(0.5), slow: per_minute(0.75), fast: per_minute(0.25) })
    }

    /// Minutes for so many stitches: at the usual pace, at the fast one, and at the slow one.
    pub fn minutes(self, stitches: u64) -> [f64; 3] {
        [self.usual, self.fast, self.slow].map(|pace| stitches as f64 / pace)
    }
}

/// Seconds a stitch, and stitches, between two moments.
fn stretch(pair: &[Logged], stitches: &[u64]) -> Option<(f64, f64)> {
    let [from, to] = pair else { return None };
    let worked: u64 = stitches.get(from.rows..to.rows)?.iter().sum();
    let seconds = to.at.checked_sub(from.at)?;
    let a_stitch = seconds as f64 / worked as f64;
    (worked > 0 && a_stitch >= LOOKED_THROUGH).then_some((a_stitch, worked as f64))
}

/// The seconds a stitch that this share of the stitches stays below; the stretches are in order and there is one.
fn quantile(stretches: &[(f64, f64)], share: f64) -> f64 {
    let total: f64 = stretches.iter().map(|&(_, stitches)| stitches).sum();
    let mut so_far = 0.0;
    for &(seconds, stitches) in stretches {
        so_far += stitches;
        if so_far >= share * total {
            return seconds;
        }
    }
    stretches.last().map_or(f64::NAN, |&(seconds, _)| seconds)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A log of rows of 30 stitches at 2 seconds a stitch, with a pause of a night after each row named.
    fn log(rows: usize, pauses: &[usize]) -> Vec<Logged> {
        let mut at = 0;
        (0..=rows)
            .map(|rows| {
                at += if rows > 0 { 60 } else { 0 };
                at += if pauses.contains(&rows) { 30_000 } else { 0 };
                Logged { rows, at }
            })
            .collect()
    }

    #[test]
    fn nights_do_not_slow_the_pace() {
        let pace = Pace::measured(&log(20, &[2, 5, 6, 11, 17]), &[30; 20]).expect("a pace");
        assert!((pace.usual - 30.0).abs() < 1e-9, "{pace:?}");
        assert!((pace.slow - 30.0).abs() < 1e-9, "{pace:?}");
    }

    #[test]
    fn ripping_back_is_no_pace() {
        let mut log = log(6, &[]);
        log.insert(4, Logged { rows: 1, at: 200 });
        let pace = Pace::measured(&log, &[30; 6]).expect("a pace");
        assert!((pace.usual - 30.0).abs() < 1.0, "{pace:?}");
    }

    #[test]
    fn rows_only_looked_through_are_no_pace() {
        let mut log = log(6, &[]);
        let at = log[6].at;
        log.extend((7..=30).map(|rows| Logged { rows, at: at + rows as i64 - 6 }));
        let pace = Pace::measured(&log, &[30; 30]).expect("a pace");
        assert!((pace.usual - 30.0).abs() < 1e-9, "{pace:?}");
        assert_eq!(Pace::measured(&log[6..], &[30; 30]), None);
    }

    #[test]
    fn too_little_is_told_as_nothing() {
        assert_eq!(Pace::measured(&log(2, &[]), &[30; 2]), None);
        assert_eq!(Pace::measured(&[], &[]), None);
        let backwards = [Logged { rows: 1, at: 9 }, Logged { rows: 2, at: 5 }, Logged { rows: 900, at: 7 }];
        assert_eq!(Pace::measured(&backwards, &[30; 3]), None);
    }
}
