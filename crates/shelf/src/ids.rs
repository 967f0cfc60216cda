//! The small types by which things on the shelf are told apart, and the moment something happened.
//!
//! The crate asks no clock: every moment is handed in.

use serde::{Deserialize, Serialize};

/// Which project; never given twice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ProjectId(i64);

impl ProjectId {
    /// The project of this number, whether it is on the shelf or not.
    pub fn from_number(number: i64) -> ProjectId {
        ProjectId(number)
    }

    /// Its number.
    pub fn number(self) -> i64 {
        self.0
    }
}

/// How many times a project was changed, undone and redone since it was made: its state at one moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Revision(i64);

impl Revision {
    /// The project as it was made.
    pub const FIRST: Revision = Revision(0);

    /// The revision of this number, whether there is one or not.
    pub fn from_number(number: i64) -> Revision {
        Revision(number)
    }

    /// Its number.
    pub fn number(self) -> i64 {
        self.0
    }

    /// The one after it.
    pub(crate) fn next(self) -> Revision {
        Revision(self.0 + 1)
    }
}

/// Which page of a project's source; never given twice within it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PageId(u32);

impl PageId {
    /// The page of this number, whether there is one or not.
    pub fn from_number(number: u32) -> PageId {
        PageId(number)
    }

    /// Its number.
    pub fn number(self) -> u32 {
        self.0
    }
}

/// A moment, in milliseconds since the start of 1970, UTC.
///
/// It is shown in the manner of RFC 3339: `1858-03-01T09:30:00Z`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Timestamp(i64);

impl Timestamp {
    /// So many milliseconds since the start of 1970, UTC.
    pub fn from_millis(millis: i64) -> Timestamp {
        Timestamp(millis)
    }

    /// Milliseconds since the start of 1970, UTC.
    pub fn millis(self) -> i64 {
        self.0
    }

    /// Milliseconds from `earlier` to this moment; less than none where that is later.
    pub fn since(self, earlier: Timestamp) -> i64 {
        self.0.saturating_sub(earlier.0)
    }

    /// The moment as a part of a file's name: `1858-03-01-093000`.
    pub(crate) fn for_file_name(self) -> String {
        let (year, month, day) = self.date();
        let (hour, minute, second) = self.time();
        format!("{year:04}-{month:02}-{day:02}-{hour:02}{minute:02}{second:02}")
    }

    /// Year, month and day of the Gregorian calendar, reckoned in eras of 400 years that start on 1 March.
    fn date(self) -> (i64, i64, i64) {
        const DAYS_OF_ERA: i64 = 146_097;
        const DAYS_BEFORE_1970: i64 = 719_468;
        let days = self.0.div_euclid(86_400_000) + DAYS_BEFORE_1970;
        let day_of_era = days.rem_euclid(DAYS_OF_ERA);
        let year_of_era =
            (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
        let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let months_since_march = (5 * day_of_year + 2) / 153;
        let day = day_of_year - (153 * months_since_march + 2) / 5 + 1;
        let month = if months_since_march < 10 { months_since_march + 3 } else { months_since_march - 9 };
        let year = year_of_era + days.div_euclid(DAYS_OF_ERA) * 400 + i64::from(month <= 2);
        (year, month, day)
    }

    /// Hour, minute and second.
    fn time(self) -> (i64, i64, i64) {
        let seconds = self.0.div_euclid(1_000).rem_euclid(86_400);
        (seconds / 3_600, seconds / 60 % 60, seconds % 60)
    }
}

impl std::fmt::Display for Timestamp {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (year, month, day) = self.date();
        let (hour, minute, second) = self.time();
        write!(f, "{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}Z")
    }
}

#[cfg(test)]
mod tests {
    use super::Timestamp;

    #[test]
    fn moments_are_shown_by_the_calendar() {
        let shown = |seconds: i64| Timestamp::from_millis(seconds * 1_000).to_string();
        assert_eq!(shown(0), "1970-01-01T00:00:00Z");
        assert_eq!(shown(951_782_400), "2000-02-29T00:00:00Z");
        assert_eq!(shown(1_767_225_599), "2025-12-31T23:59:59Z");
        assert_eq!(shown(-1), "1969-12-31T23:59:59Z");
        assert_eq!(shown(-2_203_891_200), "1900-03-01T00:00:00Z");
    }
}
