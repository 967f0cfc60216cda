//! Pieces in a block: squares in rows, each turned as one likes, and the edges that meet.
//!
//! ```text
//! square@0 square@90        a row of the block, from left to right; the topmost row first
//! .        square@180       "." is an empty place
//! ```
//!
//! `@90` turns a piece by a quarter anticlockwise: its bottom edge is then at the right. A space within a name is
//! written `_`. Knows sides and lengths; how pieces are knitted is nothing to it.

use crate::shape::{Along, Outline, Shape};
use crate::{Path, Point, Problem};

/// A place of the block with a piece in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Which of the pieces.
    pub piece: usize,
    /// Quarter turns anticlockwise.
    pub turn: usize,
}

impl Cell {
    /// The side of the piece that lies at the bottom (0), right (1), top (2) or left (3) of the place.
    pub fn side_at(self, at: usize) -> usize {
        (at + 4 - self.turn) % 4
    }
}

/// Pieces laid out in rows and columns.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// The rows, the lowest first; every row as long as the others.
    pub rows: Vec<Vec<Option<Cell>>>,
    /// The width of each column.
    pub widths: Vec<f64>,
    /// The height of each row.
    pub heights: Vec<f64>,
}

/// Two sides that lie along each other, and how often they do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meeting {
    /// A piece and its side.
    pub one: (usize, usize),
    /// The other piece and its side.
    pub other: (usize, usize),
    /// How many times in the whole.
    pub times: u32,
}

const LAYOUT_HELP: &str =
    "write each row as names with quarter turns, such as \"square@0 square@90\", and . for an empty place";

impl Block {
    /// Reads a block; `pieces` are the names and shapes of all pieces.
    ///
    /// # Errors
    /// A [`Problem`] for a name or a turn that is none, and for pieces that do not have four sides.
    pub fn read(lines: &[String], pieces: &[(String, Shape)]) -> Result<Block, Problem> {
        let mut rows = Vec::new();
        for line in lines.iter().rev() {
            let cells: Result<Vec<_>, Problem> =
                line.split_whitespace().map(|word| cell(word, pieces)).collect();
            rows.push(cells?);
        }
        let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
        if rows.iter().flatten().all(Option::is_none) {
            return Err(Problem::new(
                "no pieces are laid side by side",
                "put a piece in one of the places at least, or lay out none",
            ));
        }
        for row in &mut rows {
            row.resize(columns, None);
        }
        let mut block = Block { widths: Vec::new(), heights: Vec::new(), rows };
        block.widths = (0..columns).map(|column| block.mean(pieces, |at| at.1 == column, [0, 2])).collect();
        block.heights =
            (0..block.rows.len()).map(|row| block.mean(pieces, |at| at.0 == row, [1, 3])).collect();
        Ok(block)
    }

    /// The pieces with their places, row by row from the lowest.
    pub fn cells(&self) -> impl Iterator<Item = ((usize, usize), Cell)> + '_ {
        let places = self.rows.iter().enumerate();
        places.flat_map(|(row, cells)| {
            cells.iter().enumerate().filter_map(move |(column, cell)| cell.map(|cell| ((row, column), cell)))
        })
    }

    /// The left and lower end of a place, and its width and height.
    pub fn frame(&self, (row, column): (usize, usize)) -> [f64; 4] {
        let left = self.widths[..column].iter().sum();
        let low = self.heights[..row].iter().sum();
        [left, low, self.widths[column], self.heights[row]]
    }

    /// The sides that meet, the same pair of sides told once.
    pub fn meetings(&self) -> Vec<Meeting> {
        let mut found: Vec<Meeting> = Vec::new();
        for ((row, column), cell) in self.cells() {
            // The neighbour to the right and the one above.
            for (at, facing, neighbour) in [(1, 3, (row, column + 1)), (2, 0, (row + 1, column))] {
                let Some(other) = self.cell(neighbour) else { continue };
                let mut pair = [(cell.piece, cell.side_at(at)), (other.piece, other.side_at(facing))];
                pair.sort_unstable();
                match found.iter_mut().find(|meeting| [meeting.one, meeting.other] == pair) {
                    Some(meeting) => meeting.times += 1,
                    None => found.push(Meeting { one: pair[0], other: pair[1], times: 1 }),
                }
            }
        }
        found
    }

    /// The points where four pieces meet.
    pub fn crossings(&self) -> Vec<Point> {
        let mut found = Vec::new();
        for row in 1..self.rows.len() {
            for column in 1..self.widths.len() {
                let around = [(row - 1, column - 1), (row - 1, column), (row, column - 1), (row, column)];
                if around.iter().all(|&place| self.cell(place).is_some()) {
                    let [x, y, ..] = self.frame((row, column));
                    found.push(Point::new(x, y));
                }
            }
        }
        found
    }

    /// The outer edge of the block.
    ///
    /// # Errors
    /// A [`Problem`] when the pieces fall apart or touch in a corner only.
    pub fn outline(&self) -> Result<Path, Problem> {
        let mut steps = self.boundary();
        let apart = || {
            Problem::new(
                "the pieces side by side do not hang together along their edges",
                "fill the places between them, or plan the parts one by one",
            )
        };
        let mut rings: Vec<Vec<(usize, usize)>> = Vec::new();
        while let Some((from, to)) = steps.pop() {
            let mut ring = vec![from, to];
            while ring.last() != ring.first() {
                let end = *ring.last().ok_or_else(apart)?;
                let mut next = steps.iter().enumerate().filter(|(_, step)| step.0 == end);
                let (Some((place, _)), None) = (next.next(), next.next()) else { return Err(apart()) };
                ring.push(steps.swap_remove(place).1);
            }
            ring.pop();
            rings.push(ring);
        }
        let at = |values: &[f64], place: usize| values[..place].iter().sum::<f64>();
        let placed = |ring: &Vec<(usize, usize)>| {
            let points = ring
                .iter()
                .map(|&(row, column)| Point::new(at(&self.widths, column), at(&self.heights, row)));
            without_straight(&points.collect::<Vec<_>>())
        };
        // Steps run anticlockwise round cloth, so that the edges of holes run clockwise.
        let outer: Vec<Vec<Point>> =
            rings.iter().map(placed).filter(|ring| crate::path::area(ring) > 0.0).collect();
        match <[Vec<Point>; 1]>::try_from(outer) {
            Ok([ring]) => Path::through(from_lowest(ring), true),
            Err(_) => Err(apart()),
        }
    }

    /// What the sides of a block without gaps are made of, in the order of its outline.
    pub fn units(&self, pieces: &[(String, Shape)]) -> [Option<Along>; 4] {
        let (rows, columns) = (self.rows.len(), self.widths.len());
        [0, 1, 2, 3].map(|at| {
            let on_edge = |(row, column): (usize, usize)| {
                [row == 0, column + 1 == columns, row + 1 == rows, column == 0][at]
            };
            let cells = self.cells().filter(|&(place, _)| on_edge(place));
            let sides = cells.map(|(_, cell)| pieces[cell.piece].1.sides[cell.side_at(at)].along);
            sides
                .map(Some)
                .reduce(|one, other| one.zip(other).and_then(|(one, other)| one.with(other)))
                .flatten()
        })
    }

    fn cell(&self, (row, column): (usize, usize)) -> Option<Cell> {
        self.rows.get(row).and_then(|cells| cells.get(column)).copied().flatten()
    }

    /// The steps from crossing to crossing with cloth at their left and none at their right.
    fn boundary(&self) -> Vec<((usize, usize), (usize, usize))> {
        let mut steps = Vec::new();
        for ((row, column), _) in self.cells() {
            let [a, b, c, d] = [(row, column), (row, column + 1), (row + 1, column + 1), (row + 1, column)];
            let below = row.checked_sub(1).and_then(|row| self.cell((row, column)));
            let left = column.checked_sub(1).and_then(|column| self.cell((row, column)));
            let edges = [
                (below, a, b),
                (self.cell((row, column + 1)), b, c),
                (self.cell((row + 1, column)), c, d),
                (left, d, a),
            ];
            steps.extend(
                edges.into_iter().filter(|(beyond, ..)| beyond.is_none()).map(|(_, from, to)| (from, to)),
            );
        }
        steps
    }

    /// The mean length of the sides that lie at two places of the cells of a row or column.
    fn mean(&self, pieces: &[(String, Shape)], of: impl Fn((usize, usize)) -> bool, at: [usize; 2]) -> f64 {
        let cells = self.cells().filter(|&(place, _)| of(place));
        let lengths: Vec<f64> = cells
            .flat_map(|(_, cell)| at.map(|at| pieces[cell.piece].1.sides[cell.side_at(at)].length))
            .collect();
        lengths.iter().sum::<f64>() / lengths.len().max(1) as f64
    }
}

/// The name of a piece as a block writes it.
pub fn in_block(name: &str) -> String {
    name.replace(char::is_whitespace, "_")
}

/// What a word of a block says: a name and its quarter turns, or nothing for an empty place.
///
/// # Errors
/// A [`Problem`] for a turn that is none.
pub fn placed(word: &str) -> Result<Option<(&str, usize)>, Problem> {
    if word == "." {
        return Ok(None);
    }
    let (name, turn) = word.split_once('@').unwrap_or((word, "0"));
    let turn = match turn {
        "0" => 0,
        "90" => 1,
        "180" => 2,
        "270" => 3,
        _ => return Err(Problem::new(format!("\"{word}\" is turned by no quarter"), LAYOUT_HELP)),
    };
    Ok(Some((name, turn)))
}

fn cell(word: &str, pieces: &[(String, Shape)]) -> Result<Option<Cell>, Problem> {
    let Some((name, turn)) = placed(word)? else { return Ok(None) };
    let Some(piece) = pieces.iter().position(|(known, _)| in_block(known) == name) else {
        let known: Vec<&str> = pieces.iter().map(|(name, _)| name.as_str()).collect();
        return Err(Problem::new(
            format!("the plan has no piece \"{name}\" to lay out"),
            format!("its pieces are {}", known.join(", ")),
        ));
    };
    let shape = &pieces[piece].1;
    if !matches!(shape.outline, Outline::Polygon(_)) || shape.sides.len() != 4 {
        return Err(Problem::new(
            format!("\"{name}\" has {} sides, and a block is laid of pieces with four", shape.sides.len()),
            "give its size as width and height where it is square, or tell its seams one by one",
        ));
    }
    Ok(Some(Cell { piece, turn }))
}

/// A ring without the points at which it goes straight on.
fn without_straight(ring: &[Point]) -> Vec<Point> {
    let count = ring.len();
    let turns = |place: usize| {
        let [a, b, c] = [ring[(place + count - 1) % count], ring[place], ring[(place + 1) % count]];
        ((b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x)).abs() > 1e-9
    };
    (0..count).filter(|&place| turns(place)).map(|place| ring[place]).collect()
}

/// The ring begun at its lowest point, the leftmost of those.
fn from_lowest(mut ring: Vec<Point>) -> Vec<Point> {
    let key = |point: &Point| (point.y, point.x);
    let first = (0..ring.len())
        .min_by(|&a, &b| key(&ring[a]).partial_cmp(&key(&ring[b])).unwrap_or(std::cmp::Ordering::Equal));
    ring.rotate_left(first.unwrap_or(0));
    ring
}

impl Along {
    /// Two sides in one line; `None` for stitches beside rows.
    fn with(self, other: Along) -> Option<Along> {
        match (self, other) {
            (Along::Stitches(one), Along::Stitches(other)) => Some(Along::Stitches(one + other)),
            (Along::Stitches(_), _) | (_, Along::Stitches(_)) => None,
            (Along::Rows(one) | Along::Slant(one), Along::Rows(other) | Along::Slant(other)) => {
                Some(Along::Rows(one + other))
            }
        }
    }

    /// "60 stitches", "80 rows".
    pub fn told(self) -> String {
        match self {
            Along::Stitches(count) => crate::length::counted(count as usize, "stitch", "stitches"),
            Along::Rows(count) | Along::Slant(count) => crate::length::counted(count as usize, "row", "rows"),
        }
    }
}
