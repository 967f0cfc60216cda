//! The charts of a reading, each in a file of its own.

use std::path::{Path, PathBuf};

use chart::{Chart, ChartError, Options, Style};
use reading::PieceReading;

use crate::checked::piece_name;

/// Lays out the chart of a piece under the name it has among the others.
pub fn chart_of(pieces: &[PieceReading], index: usize) -> Result<Chart, ChartError> {
    let piece = pieces.get(index).ok_or(ChartError::Empty)?;
    let mut chart = Chart::of(&piece.piece, &Options::default())?;
    chart.name = piece_name(pieces, index);
    Ok(chart)
}

/// A chart with its key, as SVG.
pub fn svg(chart: &Chart) -> String {
    chart.to_svg(&Style { with_key: true, ..Style::default() })
}

/// A chart without its key, as SVG.
pub fn svg_bare(chart: &Chart) -> String {
    chart.to_svg(&Style { with_key: false, ..Style::default() })
}

/// The file of one chart among several: `rug.svg` alone, `rug-1.svg`, `rug-2.svg` with others.
pub fn file_of(path: &Path, index: usize, count: usize) -> PathBuf {
    if count < 2 {
        return path.to_owned();
    }
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let end = path.extension().map(|end| format!(".{}", end.to_string_lossy())).unwrap_or_default();
    path.with_file_name(format!("{stem}-{}{end}", index + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn several_charts_are_numbered() {
        let file = |path: &str, count| file_of(Path::new(path), 1, count).display().to_string();
        assert_eq!(file("out/rug.svg", 1), "out/rug.svg");
        assert_eq!(file("out/rug.svg", 3), "out/rug-2.svg");
        assert_eq!(file("rug", 3), "rug-2");
    }
}
