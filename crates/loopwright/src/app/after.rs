//! What is done when the search of a project has ended: its line in the list, its cloth, its small picture.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use shelf::ProjectId;

use crate::app::desk::{Desk, Done};
use crate::app::running::Running;
use crate::output::write_file;

/// The folder of small pictures within the folder of the shelf. They are made anew when they are missing.
const PICTURES: &str = "pictures";
/// The cloth is worked out when nothing has changed for so long after the search.
const PAUSE: Duration = Duration::from_millis(400);

/// Waits for the search of the newest state and goes on from there.
pub async fn search(running: &Arc<Running>, id: ProjectId, desk: &Arc<Desk>) {
    let Some(done) = desk.done().await else { return };
    if !desk.claim(done.view.revision) {
        return;
    }
    let rows: usize = done.view.pieces.iter().map(|piece| piece.rows.len()).sum();
    let (rows, doubts) = (rows as u32, done.view.open_doubts);
    // A list that is a little behind is no reason to trouble anyone.
    let _ = running.shelf(move |shelf| shelf.set_summary(id, rows, doubts)).await;
    drape(running, id, desk, &done).await;
}

/// Waits for the search of the newest state and works out the cloth.
pub async fn watched(running: &Arc<Running>, id: ProjectId, desk: &Arc<Desk>) {
    if let Some(done) = desk.done().await {
        drape(running, id, desk, &done).await;
    }
}

async fn drape(running: &Arc<Running>, id: ProjectId, desk: &Arc<Desk>, done: &Done) {
    tokio::time::sleep(PAUSE).await;
    if desk.is_watched() && desk.state().revision == done.view.revision {
        desk.drape(done).await;
        keep_picture(running, id, desk, done).await;
    }
}

/// Keeps a picture of the first piece for the list of projects.
async fn keep_picture(running: &Arc<Running>, id: ProjectId, desk: &Arc<Desk>, done: &Done) {
    if done.pieces.is_empty() || desk.state().revision != done.view.revision {
        return;
    }
    let Some(cloth) = desk.cloth(0).await else { return };
    let path = picture_of(&running.folder, id);
    let kept = tokio::task::spawn_blocking(move || {
        let png = cloth.small_picture().ok()?;
        std::fs::create_dir_all(path.parent()?).ok()?;
        write_file(&path, &png).ok()
    });
    // A picture that is missing is made when the project is opened again.
    let _ = kept.await;
}

/// The file of the small picture of a project.
pub fn picture_of(folder: &Path, id: ProjectId) -> PathBuf {
    folder.join(PICTURES).join(format!("{}.png", id.number()))
}
