//! `loopwright open`.

use std::path::{Path, PathBuf};

use shelf::{Gauge, Project, ProjectId, Shelf};

use crate::app::server::{Server, open_shelf};
use crate::failure::Failure;
use crate::output::{print, write_file};
use crate::source::{Source, title_of};

/// Opens the app in the browser.
///
/// Shows the shelf of projects: reading, correcting, charts, the cloth and the booklet, everything in the browser and
/// everything on this computer. Serves until it is ended with Ctrl+C.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The text of a pattern to begin a project with, where the shelf has none of the same text
    file: Option<PathBuf>,
    /// The folder of the shelf, in place of the usual one
    #[arg(long, value_name = "FOLDER")]
    shelf: Option<PathBuf>,
    /// The port to serve on, in place of a free one
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    port: Option<u16>,
    /// Does not open the browser
    #[arg(long)]
    no_browser: bool,
    /// Puts the demo on the shelf, where it is not there
    #[arg(long)]
    demo: bool,
}

/// The folder of the shelf within that of the user's data.
const FOLDER: &str = "loopwright";

/// Opens the shelf, serves, and ends when told.
pub fn run(args: &Args) -> Result<(), Failure> {
    let source = args.file.as_deref().map(Source::load).transpose()?;
    let folder = args.shelf.clone().or_else(|| Some(dirs::data_dir()?.join(FOLDER)));
    let folder = folder.ok_or_else(|| Failure::Usage {
        message: "this computer tells no folder for the user's data".to_owned(),
        help: "give a folder with --shelf".to_owned(),
    })?;
    let (mut shelf, notices) = open_shelf(&folder)?;
    if args.demo {
        put(&mut shelf, &demo())?;
    }
    let project = match &source {
        Some(source) => Some(put(&mut shelf, &project_of(source))?),
        None => None,
    };
    let server = bind(args.port, &folder)?;
    let address = server.address(project);
    print(&format!("Loopwright is open at {address}\nCtrl+C ends it.\n"))?;
    for notice in &notices {
        anstream::eprintln!("note: {notice}");
    }
    let no_browser = args.no_browser;
    server.serve(shelf, notices, || {
        if !no_browser && open::that_detached(&address).is_err() {
            anstream::eprintln!("note: no browser could be opened; open this address yourself");
        }
    })
}

/// The file in the folder of the shelf that tells the port of the last start.
const PORT: &str = "port";

/// Takes the port that is asked for; else that of the last start if it is free, so that a window that is still open goes
/// on where it was; else any.
fn bind(wanted: Option<u16>, folder: &Path) -> Result<Server, Failure> {
    if wanted.is_some() {
        return Server::bind(wanted);
    }
    let file = folder.join(PORT);
    let last = std::fs::read_to_string(&file).ok().and_then(|port| port.trim().parse().ok());
    let server = match last.map(|port| Server::bind(Some(port))) {
        Some(Ok(server)) => server,
        _ => Server::bind(None)?,
    };
    // Where it cannot be kept, the next start takes another.
    let _ = write_file(&file, format!("{}\n", server.port()).as_bytes());
    Ok(server)
}

/// The project of the same text, put on the shelf where there is none.
fn put(shelf: &mut Shelf, project: &Project) -> Result<ProjectId, Failure> {
    for entry in shelf.list()? {
        if shelf.project(entry.id)?.project.text == project.text {
            return Ok(entry.id);
        }
    }
    Ok(shelf.create(project, crate::app::server::now())?)
}

fn project_of(source: &Source) -> Project {
    let title = title_of(Path::new(&source.name));
    Project { title, text: source.text.clone(), ..Project::default() }
}

/// The carriage rug with its plan, at the gauge of its swatch.
fn demo() -> Project {
    Project {
        title: "A Carriage Rug in Twelve Squares".to_owned(),
        text: include_str!("../../../../demo/carriage-rug.txt").to_owned(),
        plan: include_str!("../../../../demo/carriage-rug.plan").to_owned(),
        gauge: Some(Gauge { stitches: 9.5, rows: 13.0 }),
        source: shelf::Source {
            title: "The Penny Sheaf of Useful and Fancy Work".to_owned(),
            date: "1858".to_owned(),
            pages: "Part XIV.".to_owned(),
            language: "en".to_owned(),
            ..shelf::Source::default()
        },
        ..Project::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_port_of_the_last_start_is_taken_again_where_it_is_free() {
        let folder = tempfile::tempdir().unwrap();
        let first = bind(None, folder.path()).unwrap();
        let port = first.port();
        assert_ne!(bind(None, folder.path()).unwrap().port(), port, "it is taken");
        std::fs::write(folder.path().join(PORT), port.to_string()).unwrap();
        drop(first);
        assert_eq!(bind(None, folder.path()).unwrap().port(), port);
    }

    #[test]
    fn a_text_is_put_on_the_shelf_once() {
        let folder = tempfile::tempdir().unwrap();
        let (mut shelf, _) = open_shelf(folder.path()).unwrap();
        let rug = put(&mut shelf, &demo()).unwrap();
        assert_eq!(put(&mut shelf, &demo()).unwrap(), rug);
        let other = project_of(&Source::of_text("old/infants-boot_1.txt", "Cast on 3."));
        assert_eq!(other.title, "Infants boot 1");
        assert_ne!(put(&mut shelf, &other).unwrap(), rug);
        assert_eq!(shelf.list().unwrap().len(), 2);
    }
}
