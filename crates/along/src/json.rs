//! How types of other crates stand in JSON.

use loops::{Side, Worked};
use serde::Serializer;

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
