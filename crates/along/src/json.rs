//! How types of other crates stand in JSON.

use std::ops::Range;

use loops::{Side, Worked};
use serde::{Serialize, Serializer};

pub(crate) fn pair<S: Serializer>(range: &Range<usize>, serializer: S) -> Result<S::Ok, S::Error> {
    (range.start, range.end).serialize(serializer)
}

pub(crate) fn side<S: Serializer>(side: &Side, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(match side {
        Side::Right => "RS",
        Side::Wrong => "WS",
    })
}

pub(crate) fn worked<S: Serializer>(worked: &Worked, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(match worked {
        Worked::Flat => "flat",
        Worked::Round => "round",
    })
}
