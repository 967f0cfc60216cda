//! `loopwright drape`.

use std::path::{Path, PathBuf};

use cloth::{End, Facing, PictureError, Relaxation, Scene, Style, Vec3, glb};
use loops::Piece;
use makingup::{PlanFile, Sewn};
use reading::PieceReading;

use super::WEIGHED;
use crate::beside::Beside;
use crate::charts::file_of;
use crate::checked::{Checked, piece_name};
use crate::cloths::{Basis, Cloth, Lying, times_over};
use crate::failure::Failure;
use crate::gauge::Gauge;
use crate::output::{print, write_file};
use crate::report;
use crate::request::ReadingArgs;
use crate::source::Source;
use crate::swatch::Measured;

/// Shows what the cloth will look like, and how large it will be.
///
/// Every stitch is worked in a model of the cloth, which curls, draws in and stands up in ribs and ridges as
/// knitting does. The ending of the file says what is made: .png and .svg are pictures, .glb is a mesh for 3D
/// viewers. The sizes are a prediction with its error; a swatch is surer.
#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    text: ReadingArgs,
    /// The file to write: a name in .png, .svg or .glb; several pieces are numbered after it
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// The gauge of plain fabric in this yarn, as stitches and rows to 10 cm
    #[arg(long, value_name = "STITCHESxROWS", default_value = "22x30", allow_hyphen_values = true)]
    gauge: Gauge,
    /// A swatch of the first piece instead of a gauge: its WIDTHxHEIGHT in centimetres, knitted as the text has it,
    /// or STITCHESxROWS=WIDTHxHEIGHT
    #[arg(long, value_name = "SWATCH", conflicts_with = "gauge")]
    swatch: Option<Measured>,
    /// Shows another reading beside the one that is gone on with: the number of a correction that `mend` lists, or
    /// QUESTION=ANSWER such as P=plain
    #[arg(long, value_name = "READING")]
    beside: Option<Beside>,
    /// The side to look at
    #[arg(long, value_enum, default_value_t)]
    side: SideSeen,
    /// The rows so many times over, for a pattern that gives one repeat in height; those that only set the work up, as
    /// in brioche, once
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=200))]
    times: u32,
    /// Pinned out to a size in centimetres, such as 30x30, rather than off the needles
    #[arg(long, value_name = "WIDTHxHEIGHT", value_parser = block)]
    block: Option<(f64, f64)>,
    /// The pieces sewn together as the file of a plan has them, at its swatch (docs/plan.md)
    #[arg(long, value_name = "FILE", conflicts_with_all = ["gauge", "swatch", "beside", "times", "block", "smooth", "metres"])]
    plan: Option<PathBuf>,
    /// Smoothed flat by hand, so that edges do not curl
    #[arg(long, conflicts_with = "block")]
    smooth: bool,
    /// Where the light comes from, in degrees anticlockwise from the right
    #[arg(long, value_name = "DEGREES", default_value_t = 127, value_parser = clap::value_parser!(i16).range(0..360))]
    light: i16,
    /// Metres of the yarn in 100 g, for its weight
    #[arg(long, value_name = "METRES", value_parser = metres)]
    metres: Option<f64>,
}

/// The side of the cloth that is looked at.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
enum SideSeen {
    /// The right side
    #[default]
    Right,
    /// The wrong side
    Wrong,
}

/// What is made of the cloth.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Format {
    Png,
    Svg,
    Glb,
}

/// Grams of the balls that yarn is counted in.
const BALL: f64 = 50.0;

/// Reads, relaxes, writes and tells the sizes.
pub fn run(args: &Args) -> Result<(), Failure> {
    let format = format_of(&args.output)?;
    if format == Format::Glb && args.beside.is_some() {
        return Err(Failure::Usage {
            message: "a mesh shows one reading alone".to_owned(),
            help: "end the name in .png or .svg for two readings beside each other".to_owned(),
        });
    }
    let checked = Checked::of(&args.text, WEIGHED)?;
    if let Some(plan) = &args.plan {
        return sewn(&checked, &Source::load(plan)?, args, format);
    }
    let pieces = checked.pieces()?;
    let basis = basis(&checked, args)?;
    let other = args.beside.as_ref().map(|beside| beside.reading(&checked)).transpose()?;
    let mut made = Vec::with_capacity(pieces.len());
    for (index, piece) in pieces.iter().enumerate() {
        let name = piece_name(pieces, index).unwrap_or_else(|| "the piece".to_owned());
        let other =
            other.as_ref().and_then(|(reading, how)| Some((reading.pieces.get(index)?, how.as_str())));
        let piece = drape(piece, other, args, &basis, format).map_err(|reason| Failure::Cloth {
            file: checked.source.name.clone(),
            piece: name.clone(),
            reason,
        })?;
        made.push((name, piece));
    }
    for (index, (name, (bytes, told))) in made.iter().enumerate() {
        let file = file_of(&args.output, index, made.len());
        write_file(&file, bytes)?;
        print(&format!("{name}: {told}\n"))?;
        anstream::eprintln!("{}", file.display());
    }
    if let Some(warning) = report::warning(&checked) {
        anstream::eprintln!("{warning}");
    }
    Ok(())
}

/// The pieces sewn together, as a plan has them.
fn sewn(checked: &Checked, plan: &Source, args: &Args, format: Format) -> Result<(), Failure> {
    let pieces: Vec<Piece> = checked.pieces()?.iter().map(|reading| reading.piece.clone()).collect();
    let sewn = PlanFile::read(&plan.text)
        .and_then(|file| Sewn::of(&file, &pieces))
        .map_err(|problem| Failure::Plan { file: plan.name.clone(), problem })?;
    let positions = &sewn.drape.positions;
    let style = style(args);
    let bytes = match format {
        Format::Glb => Ok(glb(&sewn.mesh, positions, &sewn.gauge, &style)),
        _ => Scene::of(&sewn.mesh, positions, args.facing()).and_then(|scene| paint(&scene, &style, format)),
    };
    let bytes = bytes.map_err(|error| Failure::Cloth {
        file: plan.name.clone(),
        piece: "the whole".to_owned(),
        reason: error.to_string(),
    })?;
    write_file(&args.output, &bytes)?;
    let (width, height) = sewn.extent();
    let seams = if sewn.seams == 1 { "1 seam".to_owned() } else { format!("{} seams", sewn.seams) };
    let mut told = format!("{} pieces, {seams}: {width:.0} by {height:.0} cm as they lie", sewn.pieces);
    if sewn.drape.end != End::Settled {
        told += "; the cloth had not quite come to rest";
    }
    for left_out in &sewn.left_out {
        told += &format!("\nnot in the picture is {left_out}");
    }
    print(&format!("{told}\n"))?;
    anstream::eprintln!("{}", args.output.display());
    if let Some(warning) = report::warning(checked) {
        anstream::eprintln!("{warning}");
    }
    Ok(())
}

/// The bytes of one piece, and its sizes in words; those of another reading of it beside them.
fn drape(
    piece: &PieceReading,
    other: Option<(&PieceReading, &str)>,
    args: &Args,
    basis: &Basis,
    format: Format,
) -> Result<(Vec<u8>, String), String> {
    let lying = match args.block {
        Some((width, height)) => Lying::Blocked(width, height),
        None if args.smooth => Lying::Smoothed,
        None => Lying::Free,
    };
    let cloth = |piece| Cloth::of(&times_over(piece, args.times)?, basis, lying);
    let own = cloth(piece)?;
    let told = tell(&own, args)?;
    let Some((other, how)) = other else {
        let bytes = draw(&[own], basis, args, format).map_err(|error| error.to_string())?;
        return Ok((bytes, told));
    };
    let other = cloth(other)?;
    let told = format!("left {told}\n  right, {how}: {}", tell(&other, args)?);
    let bytes = draw(&[own, other], basis, args, format).map_err(|error| error.to_string())?;
    Ok((bytes, told))
}

/// The cloths of one piece beside each other; as a mesh the first alone.
fn draw(cloths: &[Cloth], basis: &Basis, args: &Args, format: Format) -> Result<Vec<u8>, PictureError> {
    let style = style(args);
    if let (Format::Glb, Some(cloth)) = (format, cloths.first()) {
        return Ok(glb(&cloth.mesh, &cloth.drape.positions, &basis.gauge, &style));
    }
    let scenes: Result<Vec<Scene>, PictureError> =
        cloths.iter().map(|cloth| cloth.scene(args.facing())).collect();
    paint(&Scene::beside(scenes?)?, &style, format)
}

/// How a picture is drawn, with the light where it was asked for.
fn style(args: &Args) -> Style {
    let angle = f64::from(args.light).to_radians();
    let slant = Style::default().light;
    let flat = slant.x.hypot(slant.y);
    let light = Vec3::new(flat * angle.cos(), flat * angle.sin(), slant.z);
    Style { light, ..Style::default() }
}

fn paint(scene: &Scene, style: &Style, format: Format) -> Result<Vec<u8>, PictureError> {
    match format {
        Format::Svg => scene.to_svg(style).map(String::into_bytes),
        Format::Png | Format::Glb => scene.to_png(style),
    }
}

impl Args {
    fn facing(&self) -> Facing {
        match self.side {
            SideSeen::Right => Facing::Right,
            SideSeen::Wrong => Facing::Wrong,
        }
    }
}

fn tell(cloth: &Cloth, args: &Args) -> Result<String, String> {
    let basis = match args.swatch {
        Some(_) => "by the swatch".to_owned(),
        None => format!("at {} of plain fabric", args.gauge),
    };
    let mut told = format!("{} {basis}; yarn {}", cloth.size(), cloth.metres());
    if let Some(metres) = args.metres {
        let (grams, balls) = cloth.yarn.weigh(metres, BALL).map_err(|error| error.to_string())?;
        let balls = report::counted(balls as usize, "ball");
        told += &format!(", {grams:.0} g; buy {balls} of {BALL} g");
    }
    if let Some(caution) = cloth.caution() {
        told += &format!("; {caution}");
    }
    Ok(told)
}

/// The plain fabric to reckon with: by the swatch, else by the gauge.
fn basis(checked: &Checked, args: &Args) -> Result<Basis, Failure> {
    if let Some(swatch) = &args.swatch {
        let basis = swatch.basis(checked, args.times)?;
        print(&told(&basis))?;
        return Ok(basis);
    }
    Basis::of(&args.gauge)
}

/// What a swatch tells of the yarn.
fn told(basis: &Basis) -> String {
    let gauge = &basis.gauge;
    format!(
        "the swatch stands for {:.1} stitches and {:.1} rows to 10 cm of plain fabric, within {:.0} %, and {:.2} cm of \
         yarn in a plain stitch\n",
        10.0 / gauge.width(),
        10.0 / gauge.height(),
        gauge.error() * 100.0,
        gauge.loop_length(Relaxation::Wet)
    )
}

fn format_of(path: &Path) -> Result<Format, Failure> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    match ending.as_deref() {
        Some("png") => Ok(Format::Png),
        Some("svg") => Ok(Format::Svg),
        Some("glb") => Ok(Format::Glb),
        _ => Err(Failure::Usage {
            message: format!("{}: the ending of the file does not say what to make", path.display()),
            help: "end the name in .png or .svg for a picture, in .glb for a mesh".to_owned(),
        }),
    }
}

fn block(text: &str) -> Result<(f64, f64), String> {
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|cm| (1.0..=1000.0).contains(cm));
    text.split_once(['x', 'X', '×'])
        .and_then(|(width, height)| Some((number(width)?, number(height)?)))
        .ok_or_else(|| "a size is WIDTHxHEIGHT in centimetres, such as 30x30, each from 1 to 1000".to_owned())
}

fn metres(text: &str) -> Result<f64, String> {
    let number = text.trim().parse::<f64>().ok().filter(|metres| (1.0..=10_000.0).contains(metres));
    number.ok_or_else(|| "yarn has metres in 100 g such as 230, from 1 to 10000".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_size_is_read_and_nonsense_refused() {
        assert_eq!(block("30 x 40.5"), Ok((30.0, 40.5)));
        for text in ["", "30", "0x30", "NaNx3", "3x-3", "3x1e9"] {
            assert!(block(text).is_err(), "{text}");
        }
    }

    #[test]
    fn yarn_without_length_is_refused() {
        assert_eq!(metres("230"), Ok(230.0));
        for text in ["", "0", "-5", "NaN", "inf", "1e9"] {
            assert!(metres(text).is_err(), "{text}");
        }
    }

    #[test]
    fn the_ending_says_what_is_made() {
        assert!(matches!(format_of(Path::new("rug.PNG")), Ok(Format::Png)));
        assert!(format_of(Path::new("rug")).is_err());
    }
}
