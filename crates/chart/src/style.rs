//! The engraver's taste: every size, weight and grey of a drawn chart, each with its reason.
//!
//! Lengths are in SVG user units; at the usual 96 to the inch a unit is about a quarter of a millimetre. Greys
//! are told apart on paper and on a bad photocopy; text is darker than 4.5 to 1 against white (WCAG 2.2, 1.4.3).

/// How a chart is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Style {
    /// Width of a column. More spreads the chart; below 12 the symbols close up. 20 reads well at arm's length.
    pub cell_width: f32,
    /// Height of a row. A knit stitch is wider than tall, about 5 to 4; equal sides suit garter charts.
    pub cell_height: f32,
    /// Weight of the strokes of symbols: the darkest thing on the page but the repeat frame.
    pub symbol_stroke: f32,
    /// Weight of the lines between squares: thin, so that the eye goes to the symbols.
    pub grid_stroke: f32,
    /// Weight of every strong line of the grid.
    pub strong_stroke: f32,
    /// Rows and columns between strong lines, counted from the right and from the bottom. 0 for none.
    pub strong_every: usize,
    /// Columns or rows above which strong lines are drawn; smaller charts are counted without.
    pub strong_above: usize,
    /// Weight of the outline around the whole grid.
    pub outline_stroke: f32,
    /// Weight of the frame around the repeat: heavy enough to be seen before anything else.
    pub repeat_stroke: f32,
    /// Colour of symbols and text.
    pub ink: String,
    /// Colour of the second line of a key entry and of stitch counts.
    pub soft_ink: String,
    /// Colour of thin grid lines.
    pub grid: String,
    /// Colour of strong grid lines and of the outline.
    pub strong_grid: String,
    /// Ground of squares without a stitch.
    pub no_stitch: String,
    /// Ground of resting stitches: paler than `no_stitch`, and with grid lines, which that has not.
    pub unworked: String,
    /// Ground of the purled strand of a crossing; its dot tells it apart where greys fail.
    pub purl_strand: String,
    /// Ground of the whole picture; `none` lets the page show through.
    pub paper: String,
    /// Fonts for labels and key, the first one present is taken; symbols need no font.
    pub font_family: String,
    /// Size of row labels and of the words of the key.
    pub font_size: f32,
    /// Size of stitch counts and of second lines.
    pub small_font_size: f32,
    /// White between the grid and its labels.
    pub label_gap: f32,
    /// White around the whole picture.
    pub margin: f32,
    /// White between the chart and its key.
    pub key_gap: f32,
    /// Least width of one column of the key, white included.
    pub key_column: f32,
    /// White beneath an entry of the key.
    pub key_leading: f32,
    /// Whether [`crate::Chart::to_svg`] draws the key beneath the chart.
    pub with_key: bool,
    /// Whether each worked square is an element of its own beneath the symbols, with the rows and stitches it stands for,
    /// so that a program can light them. More than doubles the drawing.
    pub with_squares: bool,
}

impl Default for Style {
    fn default() -> Style {
        Style {
            cell_width: 20.0,
            cell_height: 16.0,
            symbol_stroke: 1.3,
            grid_stroke: 0.5,
            strong_stroke: 0.8,
            strong_every: 10,
            strong_above: 20,
            outline_stroke: 0.9,
            repeat_stroke: 2.4,
            ink: "#1a1a1a".to_owned(),
            soft_ink: "#595959".to_owned(),
            grid: "#b4b4b4".to_owned(),
            strong_grid: "#7d7d7d".to_owned(),
            no_stitch: "#d4d4d4".to_owned(),
            unworked: "#f1f1f1".to_owned(),
            purl_strand: "#dedede".to_owned(),
            paper: "#ffffff".to_owned(),
            font_family: "'Libertinus Serif', 'Linux Libertine', serif".to_owned(),
            font_size: 11.0,
            small_font_size: 9.0,
            label_gap: 7.0,
            margin: 12.0,
            key_gap: 22.0,
            key_column: 250.0,
            key_leading: 7.0,
            with_key: true,
            with_squares: false,
        }
    }
}
