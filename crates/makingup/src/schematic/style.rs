//! The draughtsman's taste: sizes, weights and colours, each with its reason.

/// How a schematic is drawn; lengths are SVG units, four to a millimetre on the page of a small booklet.
#[derive(Clone, Debug, PartialEq)]
pub struct Style {
    /// Width of the whole drawing: that of a chart's key, so that both stand in one column.
    pub width: f64,
    /// Greatest height of the drawing of the whole; more leaves no room for the pieces on the same page.
    pub whole_height: f64,
    /// Height of a piece's drawing.
    pub piece_height: f64,
    /// Pieces beside each other.
    pub columns: usize,
    /// White around the drawing.
    pub margin: f64,
    /// White between its parts.
    pub gap: f64,
    /// Weight of outlines of pieces: seen first.
    pub outline: f64,
    /// Weight of lines between pieces and of marks.
    pub line: f64,
    /// Weight of measures: seen last.
    pub hair: f64,
    /// White between a figure and its measure, and between measures.
    pub offset: f64,
    /// Half the length of the slanting stroke that ends a measure.
    pub tick: f64,
    /// Colour of lines and words.
    pub ink: String,
    /// Colour of measures; darker than 4.5 to 1 against white (WCAG 2.2, 1.4.3).
    pub soft_ink: String,
    /// Colour of the marks of where a piece begins.
    pub accent: String,
    /// Ground of the drawing; `none` lets the page show through.
    pub paper: String,
    /// Fonts, the first one present is taken.
    pub font_family: String,
    /// Size of names.
    pub font_size: f64,
    /// Size of measures.
    pub small_font_size: f64,
}

impl Default for Style {
    fn default() -> Style {
        Style {
            width: 440.0,
            whole_height: 400.0,
            piece_height: 92.0,
            columns: 3,
            margin: 10.0,
            gap: 30.0,
            outline: 1.0,
            line: 0.6,
            hair: 0.45,
            offset: 17.0,
            tick: 3.0,
            ink: "#1a1a1a".to_owned(),
            soft_ink: "#4a4a4a".to_owned(),
            accent: "#6b2430".to_owned(),
            paper: "#ffffff".to_owned(),
            font_family: "'Libertinus Serif', 'Linux Libertine', serif".to_owned(),
            font_size: 12.0,
            small_font_size: 10.25,
        }
    }
}

impl Style {
    /// For a screen as narrow as a telephone's, where a drawing of the usual width shrinks until its words are 8 pixels
    /// high: at 330 pixels across, these are 11.
    pub fn narrow() -> Style {
        Style { width: 300.0, columns: 2, margin: 20.0, ..Style::default() }
    }
}

/// Colours that are named in old patterns, as pale grounds on which lines and words can be read.
const TINTS: [(&str, &str); 24] = [
    ("white", "#faf8f4"),
    ("cream", "#f5eeda"),
    ("stone", "#e6ded0"),
    ("drab", "#ddd3c0"),
    ("buff", "#efdfbf"),
    ("fawn", "#e3cfb4"),
    ("brown", "#cdb39b"),
    ("gold", "#efd795"),
    ("yellow", "#f5e6a0"),
    ("orange", "#f2c79a"),
    ("amber", "#f0cd8e"),
    ("scarlet", "#e8a79b"),
    ("crimson", "#dda0a6"),
    ("red", "#e6a8a0"),
    ("rose", "#f0cdd0"),
    ("pink", "#f4d5d8"),
    ("lilac", "#ded0e6"),
    ("violet", "#d0c3e0"),
    ("purple", "#cbb9d8"),
    ("blue", "#bfd0e2"),
    ("green", "#c6d7bd"),
    ("grey", "#d8d8d6"),
    ("gray", "#d8d8d6"),
    ("black", "#a9a8a6"),
];

/// Grounds for colours without a known name, and for pieces without a colour.
const OTHERS: [&str; 5] = ["#ece8e0", "#d9e0dd", "#e7dada", "#dcdce6", "#e4e3d2"];

/// The ground of a colour by its name; one of its own for a name that is not known.
pub(super) fn tint(colour: Option<&str>) -> &'static str {
    let Some(colour) = colour else { return OTHERS[0] };
    let lower = colour.to_lowercase();
    let known =
        TINTS.iter().find(|(name, _)| lower.split(|c: char| !c.is_alphabetic()).any(|word| word == *name));
    let sum: usize = lower.bytes().map(usize::from).sum();
    known.map_or(OTHERS[sum % OTHERS.len()], |(_, tint)| tint)
}
