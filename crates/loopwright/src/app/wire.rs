//! The form in which the front end meets a project and what is made of it.
//!
//! These types are the contract, apart from those of the crates below, so that those can change; `schema/app-api.json`
//! is made of them. All places are UTF-16 code units of the transcription.

mod needles;
mod plan;
mod plan_form;
mod project;
mod sums;
mod view;

pub use self::needles::*;
pub use self::plan::*;
pub use self::plan_form::*;
pub use self::project::*;
pub use self::sums::*;
pub use self::view::*;

use serde::{Deserialize, Serialize};
use utoipa::openapi::schema::{ArrayBuilder, ArrayItems};
use utoipa::openapi::{KnownFormat, ObjectBuilder, RefOr, Schema, SchemaFormat, Type};
use utoipa::{PartialSchema, ToSchema};

/// A stretch of the transcription in UTF-16 code units: its start and its end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct At(pub u32, pub u32);

impl PartialSchema for At {
    fn schema() -> RefOr<Schema> {
        let place = || {
            let format = SchemaFormat::KnownFormat(KnownFormat::Int32);
            Schema::Object(
                ObjectBuilder::new().schema_type(Type::Integer).format(Some(format)).minimum(Some(0)).build(),
            )
        };
        let pair = ArrayBuilder::new()
            .items(ArrayItems::False)
            .prefix_items([place(), place()])
            .min_items(Some(2))
            .max_items(Some(2))
            .description(Some("A stretch of the transcription in UTF-16 code units: its start and its end."));
        pair.into()
    }
}

impl ToSchema for At {}
