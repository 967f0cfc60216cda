//! `loopwright drape`.

use std::path::{Path, PathBuf};

use cloth::{
    Allowance, Drape, End, Estimate, Fabric, Facing, Measures, Mesh, PictureError, Scene, Settings, State,
    Style, Vec3, Yarn, glb,
};
use reading::PieceReading;

use super::WEIGHED;
use crate::charts::file_of;
use crate::checked::{Checked, piece_name};
use crate::failure::Failure;
use crate::gauge::Gauge;
use crate::output::{print, write_file};
use crate::report;
use crate::request::ReadingArgs;

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
    #[arg(long, value_name = "STITCHESxROWS", default_value = "22x30")]
    gauge: Gauge,
    /// The side to look at
    #[arg(long, value_enum, default_value_t)]
    side: SideSeen,
    /// The rows so many times over, for a pattern that gives one repeat in height
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=200))]
    times: u32,
    /// Pinned out to a size in centimetres, such as 30x30, rather than off the needles
    #[arg(long, value_name = "WIDTHxHEIGHT", value_parser = block)]
    block: Option<(f64, f64)>,
    /// Where the light comes from, in degrees anticlockwise from the right
    #[arg(long, value_name = "DEGREES", default_value_t = 127, value_parser = clap::value_parser!(i16).range(0..360))]
    light: i16,
    /// Metres of the yarn in 100 g, for its weight
    #[arg(long, value_name = "METRES")]
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
    let checked = Checked::of(&args.text, WEIGHED)?;
    let pieces = checked.pieces()?;
    let mut made = Vec::with_capacity(pieces.len());
    for index in 0..pieces.len() {
        let name = piece_name(pieces, index).unwrap_or_else(|| "the piece".to_owned());
        let piece = drape(&pieces[index], args, format).map_err(|reason| Failure::Cloth {
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

/// The bytes of one piece, and its sizes in words.
fn drape(piece: &PieceReading, args: &Args, format: Format) -> Result<(Vec<u8>, String), String> {
    let gauge = args.gauge.of_cloth().map_err(|error| error.to_string())?;
    let fabric = Fabric { rows_per_stitch: gauge.rows_per_stitch(), ..Fabric::default() };
    let long = piece.piece.repeated(args.times).map_err(|error| error.to_string())?;
    let mesh = Mesh::of(&long, &fabric).map_err(|error| error.to_string())?;
    let state = match args.block {
        Some((width, height)) => {
            State::Blocked { width: width / gauge.width(), height: height / gauge.width() }
        }
        None => State::Free,
    };
    let drape = Drape::of(&mesh, &fabric, state, &Settings::default()).map_err(|error| error.to_string())?;
    let bytes = draw(&mesh, &drape, &gauge, args, format).map_err(|error| error.to_string())?;
    let measures = Measures::of(&mesh, &drape, 0, &gauge).ok_or("there is nothing to measure")?;
    let yarn = Yarn::of(&mesh, 0, &measures, &gauge, &Allowance::default());
    Ok((bytes, tell(&measures, &yarn, &drape, args)?))
}

fn draw(
    mesh: &Mesh,
    drape: &Drape,
    gauge: &cloth::Gauge,
    args: &Args,
    format: Format,
) -> Result<Vec<u8>, PictureError> {
    let angle = f64::from(args.light).to_radians();
    let slant = Style::default().light;
    let flat = slant.x.hypot(slant.y);
    let light = Vec3::new(flat * angle.cos(), flat * angle.sin(), slant.z);
    let style = Style { light, ..Style::default() };
    if format == Format::Glb {
        return Ok(glb(mesh, &drape.positions, gauge, &style));
    }
    let facing = match args.side {
        SideSeen::Right => Facing::Right,
        SideSeen::Wrong => Facing::Wrong,
    };
    let scene = Scene::of(mesh, &drape.positions, facing)?;
    match format {
        Format::Svg => scene.to_svg(&style).map(String::into_bytes),
        _ => scene.to_png(&style),
    }
}

fn tell(measures: &Measures, yarn: &Yarn, drape: &Drape, args: &Args) -> Result<String, String> {
    let length = |estimate: Estimate| format!("{:.1} ± {:.1} cm", estimate.value, estimate.error);
    let mut told = format!(
        "about {} wide at half height and {} high at {} of plain fabric; yarn {:.0} ± {:.0} m",
        length(measures.width),
        length(measures.height),
        args.gauge,
        yarn.total.value,
        yarn.total.error
    );
    if let Some(metres) = args.metres {
        let (grams, balls) = yarn.weigh(metres, BALL).map_err(|error| error.to_string())?;
        told += &format!(", {grams:.0} g; buy {balls} balls of {BALL} g");
    }
    if drape.end != End::Settled {
        told += "; the cloth had not quite come to rest";
    }
    Ok(told)
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
    fn the_ending_says_what_is_made() {
        assert!(matches!(format_of(Path::new("rug.PNG")), Ok(Format::Png)));
        assert!(format_of(Path::new("rug")).is_err());
    }
}
