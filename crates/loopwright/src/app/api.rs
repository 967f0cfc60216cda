//! What the front end may ask, one file for each kind of thing; `schema/app-api.json` describes it.

mod about;
mod compared;
mod export;
mod history;
mod labels;
mod live;
mod needles;
mod pages;
mod pieces;
mod plan;
mod projects;
mod sums;

use std::sync::Arc;

use axum::Router;
use utoipa::OpenApi;
use utoipa::openapi::path::Operation;
use utoipa::openapi::request_body::RequestBody;
use utoipa::openapi::{Content, OpenApi as Description, Ref, RefOr, ResponseBuilder};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use crate::app::body::project;
use crate::app::desk::Done;
use crate::app::refused::Refused;
use crate::app::running::Running;
use crate::app::wire::{ClothEvent, NeedlesEvent, StateEvent};

/// What every handler is given.
type App = axum::extract::State<Arc<Running>>;

/// What is made of a project as it stands.
async fn done(app: &Arc<Running>, id: &str) -> Result<Arc<Done>, Refused> {
    app.desk(project(id)?).await?.done().await.ok_or_else(Refused::stumbled)
}

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Loopwright, the local app",
        description = "All places are UTF-16 code units of the transcription. Every request carries the token of this \
                       start of the program as a bearer token."
    ),
    components(schemas(StateEvent, ClothEvent, NeedlesEvent, pieces::Seen, compared::Which)),
    modifiers(&Token),
    security(("token" = []))
)]
struct Head;

/// Every request carries the token.
struct Token;

impl utoipa::Modify for Token {
    fn modify(&self, description: &mut Description) {
        use utoipa::openapi::security::{HttpAuthScheme, HttpBuilder, SecurityScheme};
        let scheme = SecurityScheme::Http(HttpBuilder::new().scheme(HttpAuthScheme::Bearer).build());
        let components = description.components.get_or_insert_default();
        components.add_security_scheme("token", scheme);
    }
}

/// All routes, and their description.
pub fn routes() -> (Router<Arc<Running>>, Description) {
    let (router, mut description) = OpenApiRouter::with_openapi(Head::openapi())
        .routes(routes!(projects::list, projects::create))
        .routes(routes!(projects::project, projects::put_away))
        .routes(routes!(projects::restore))
        .routes(routes!(history::change))
        .routes(routes!(history::undo))
        .routes(routes!(history::redo))
        .routes(routes!(projects::view))
        .routes(routes!(live::live))
        .routes(routes!(pieces::chart))
        .routes(routes!(pieces::mesh))
        .routes(routes!(pieces::yarn))
        .routes(routes!(pieces::picture))
        .routes(routes!(projects::picture))
        .routes(routes!(compared::charts))
        .routes(routes!(compared::cloth))
        .routes(routes!(labels::list, labels::create))
        .routes(routes!(labels::project))
        .routes(routes!(labels::view))
        .routes(routes!(export::booklet))
        .routes(routes!(export::rows))
        .routes(routes!(export::bundle))
        .routes(routes!(export::import))
        .routes(routes!(pages::add))
        .routes(routes!(pages::page))
        .routes(routes!(needles::along))
        .routes(routes!(needles::needles, needles::go))
        .routes(routes!(needles::back))
        .routes(routes!(needles::again))
        .routes(routes!(needles::slips))
        .routes(routes!(needles::fits))
        .routes(routes!(needles::phone))
        .routes(routes!(plan::plan))
        .routes(routes!(plan::form))
        .routes(routes!(plan::text))
        .routes(routes!(sums::sums))
        .routes(routes!(about::terms))
        .routes(routes!(about::about))
        .routes(routes!(about::description))
        .split_for_parts();
    description.info.license = None;
    for (path, item) in &mut description.paths.paths {
        let ways = [&mut item.get, &mut item.put, &mut item.post, &mut item.delete];
        for operation in ways.into_iter().flatten() {
            refused_anywhere(operation, path);
        }
    }
    (router, description)
}

/// Notes how any request may be refused, but for what its handler says itself.
fn refused_anywhere(operation: &mut Operation, path: &str) {
    let mut refused = vec![
        ("401", "The token is missing, or that of another start"),
        ("403", "Meant for another address, or from a page of another site"),
        ("503", "Too busy, or the disk does not do as it is told"),
    ];
    if path.contains("{id}") {
        refused.push(("404", "No such project"));
    }
    let takes_json = |body: &RefOr<RequestBody>| match body {
        RefOr::T(body) => body.content.contains_key("application/json"),
        RefOr::Ref(_) => false,
    };
    if operation.request_body.as_ref().is_some_and(takes_json) {
        refused.extend([("413", "Too large"), ("415", "No JSON"), ("422", "Not understood")]);
    }
    for (status, why) in refused {
        let content = Content::new(Some(Ref::from_schema_name("Refusal")));
        let response = ResponseBuilder::new().description(why).content("application/json", content);
        operation.responses.responses.entry(status.to_owned()).or_insert_with(|| response.into());
    }
}

/// The description as JSON.
pub fn described() -> String {
    let (_, description) = routes();
    description.to_pretty_json().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    /// The front end's types are made of this file. `LOOPWRIGHT_REWRITE=1` writes it anew.
    #[test]
    fn the_description_is_that_of_the_schema_folder() {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schema/app-api.json");
        let described = format!("{}\n", super::described());
        if std::env::var_os("LOOPWRIGHT_REWRITE").is_some() {
            std::fs::write(&path, &described).unwrap();
        }
        let kept = std::fs::read_to_string(&path).unwrap();
        assert!(
            kept == described,
            "schema/app-api.json is not up to date; run the test with LOOPWRIGHT_REWRITE=1"
        );
    }

    /// As OpenAPI 3.1 asks (section 4.8.10): programs make names of them.
    #[test]
    fn every_operation_has_a_name_of_its_own() {
        let described: serde_json::Value = serde_json::from_str(&super::described()).unwrap();
        let items = described["paths"].as_object().unwrap().values();
        let operations = items.flat_map(|item| item.as_object().unwrap().values());
        let mut names: Vec<&str> = operations.map(|one| one["operationId"].as_str().unwrap()).collect();
        let count = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), count, "{names:?}");
    }

    #[test]
    fn every_refusal_is_described() {
        let described: serde_json::Value = serde_json::from_str(&super::described()).unwrap();
        for (path, item) in described["paths"].as_object().unwrap() {
            for (method, operation) in item.as_object().unwrap() {
                let responses = operation["responses"].as_object().unwrap();
                let has = |status: &str| responses.contains_key(status);
                assert!(has("200") || has("204"), "{method} {path}");
                assert!(!path.contains('{') || has("404"), "{method} {path} may find nothing");
                assert!(operation.get("requestBody").is_none() || has("413"), "{method} {path} takes a body");
            }
        }
    }
}
