//! `loopwright revive`.

use std::path::{Path, PathBuf};

use super::WEIGHED;
use crate::caution::cautions;
use crate::charts::{chart_of, file_of, svg};
use crate::checked::{Checked, piece_name};
use crate::cloths::{Basis, Cloth, cloths, picture};
use crate::commands::plan::{plan_files, plan_of, programs};
use crate::commands::write::rows;
use crate::edition::{Particulars, add_plan, drawing, edition};
use crate::failure::Failure;
use crate::gauge::Gauge;
use crate::json;
use crate::notes::notes;
use crate::output::{make_folder, print, write_file};
use crate::progress::Progress;
use crate::remark::{capital, remarks};
use crate::report::{counted, warning};
use crate::request::{Country, ReadingArgs};
use crate::source::{Source, title_of};

/// Goes the whole way: from the old page to a booklet.
///
/// Fills a folder with the reading (reading.json), the rows in the terms of today (rows.txt), the charts
/// (chart.svg), pictures of the cloth (cloth.png), the notes on the text (notes.txt) and the booklet (booklet.pdf).
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    text: ReadingArgs,
    /// The folder to fill; it is made where it is missing
    #[arg(short, long, value_name = "FOLDER")]
    output: PathBuf,
    /// The title of the booklet
    #[arg(long)]
    title: Option<String>,
    /// Who wrote the old pattern
    #[arg(long)]
    author: Option<String>,
    /// The year of the old pattern
    #[arg(long)]
    year: Option<String>,
    /// The book or paper it was printed in
    #[arg(long)]
    source_title: Option<String>,
    /// Where that was published
    #[arg(long)]
    place: Option<String>,
    /// Who published it
    #[arg(long)]
    publisher: Option<String>,
    /// The page it stands on
    #[arg(long)]
    page: Option<String>,
    /// Stitches and rows of plain fabric to 10 cm, such as 22x30, to tell the size and the yarn by
    #[arg(long, value_name = "STITCHESxROWS", allow_hyphen_values = true)]
    gauge: Option<Gauge>,
    /// The plan of the making up (docs/plan.md): its drawing, sizes, materials and steps go into the booklet
    #[arg(long, value_name = "FILE")]
    plan: Option<PathBuf>,
    /// The country whose terms are used
    #[arg(long, value_enum, default_value_t)]
    terms: Country,
}

/// A file of the folder.
type Made = (PathBuf, Vec<u8>);

/// Reads, makes everything, and only then writes: a failure on the way leaves the folder as it was.
pub fn run(args: &Args) -> Result<(), Failure> {
    let progress = Progress::of(3);
    progress.step("reading");
    let checked = Checked::of(&args.text, WEIGHED)?;
    let made = make(&checked, args, &progress)?;
    make_folder(&args.output)?;
    for (name, bytes) in &made {
        write_file(&args.output.join(name), bytes)?;
    }
    drop(progress);
    print(&summary(&checked, args, made.len()))?;
    if let Some(warning) = warning(&checked) {
        anstream::eprintln!("{warning}");
    }
    Ok(())
}

fn make(checked: &Checked, args: &Args, progress: &Progress) -> Result<Vec<Made>, Failure> {
    let pieces = checked.pieces()?;
    let particulars = particulars(args);
    let remarks = remarks(checked);
    progress.step("drawing");
    let basis = Basis::of(&args.gauge.unwrap_or_default())?;
    let cloths = cloths(pieces, &basis);
    let charts: Vec<_> = (0..pieces.len()).map(|index| chart_of(pieces, index)).collect();
    let json = serde_json::to_string_pretty(&json::reading(checked))?;
    let mut made = vec![
        ("reading.json".into(), format!("{json}\n").into_bytes()),
        ("rows.txt".into(), rows_and_sizes(checked, &cloths, args)?.into_bytes()),
        ("notes.txt".into(), notes(&particulars.title, &remarks).into_bytes()),
    ];
    for (index, chart) in charts.iter().enumerate() {
        if let Ok(chart) = chart {
            made.push((file_of(Path::new("chart.svg"), index, charts.len()), svg(chart).into_bytes()));
        }
    }
    let mut drawings = Vec::with_capacity(pieces.len());
    for (index, cloth) in cloths.iter().enumerate() {
        let drawn = cloth.as_ref().map_err(String::clone).and_then(|cloth| Ok((cloth, picture(cloth)?)));
        drawings.push(drawn.map(|(cloth, picture)| {
            let drawing = drawing(cloth, &picture, piece_name(pieces, index).as_deref(), args.gauge.as_ref());
            made.push((file_of(Path::new("cloth.png"), index, cloths.len()), picture.png));
            drawing
        }));
    }
    let plan = match &args.plan {
        Some(file) => Some(plan_of(&programs(checked)?, &Source::load(file)?)?),
        None => None,
    };
    progress.step("printing");
    let mut edition = edition(checked, &particulars, &charts, drawings, &remarks);
    if let Some(plan) = &plan {
        made.extend(
            plan_files(plan, &cautions(&checked.source.text))?.map(|(name, bytes)| (name.into(), bytes)),
        );
        add_plan(&mut edition, plan);
    }
    let pdf = booklet::pdf(&edition);
    let pdf = pdf.map_err(|error| Failure::Booklet { file: checked.source.name.clone(), error })?;
    made.push(("booklet.pdf".into(), pdf));
    Ok(made)
}

fn particulars(args: &Args) -> Particulars {
    Particulars {
        title: args
            .title
            .clone()
            .filter(|title| !title.trim().is_empty())
            .unwrap_or_else(|| title_of(&args.text.file)),
        source: booklet::Source {
            author: args.author.clone(),
            title: args.source_title.clone(),
            place: args.place.clone(),
            publisher: args.publisher.clone(),
            year: args.year.clone(),
            page: args.page.clone(),
            identifier: None,
        },
        gauge: args.gauge,
        terms: args.terms.into(),
    }
}

fn rows_and_sizes(
    checked: &Checked,
    cloths: &[Result<Cloth, String>],
    args: &Args,
) -> Result<String, Failure> {
    let mut text = rows(checked, args.terms.into())?;
    let pieces = checked.pieces()?;
    if let Some(gauge) = &args.gauge {
        text.push_str(&format!("\nSize at {gauge}\n\n"));
        for (index, piece) in pieces.iter().enumerate() {
            let name = piece_name(pieces, index).map_or_else(String::new, |name| format!("{name}: "));
            text.push_str(&format!("{}.\n", capital(&format!("{name}{}", gauge.size_of(piece)))));
            if let Some(Ok(cloth)) = cloths.get(index) {
                let (size, metres) = (capital(&cloth.size()), cloth.metres());
                text.push_str(&format!("{size}, as the cloth draws in or spreads; yarn {metres}.\n"));
            }
        }
    }
    Ok(text)
}

fn summary(checked: &Checked, args: &Args, files: usize) -> String {
    let pieces = checked.reading().pieces.len();
    format!(
        "{}: {}, {} in {}\nThe booklet is {}\n",
        checked.source.name,
        counted(pieces, "piece"),
        counted(files, "file"),
        args.output.display(),
        args.output.join("booklet.pdf").display()
    )
}
