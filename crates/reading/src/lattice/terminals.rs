//! The terminals of the grammar that the lattice itself makes.
//!
//! Knows their names; not the words that they stand for.

use crate::grammar::{Grammar, Terminal};

/// The terminals that the lattice itself makes.
#[derive(Clone, Copy, Debug)]
pub struct Terminals {
    pub(super) stitch: Terminal,
    pub(super) movement: Terminal,
    pub(super) rest: Terminal,
    pub(super) row: Terminal,
    pub(super) line: Terminal,
    pub(super) off: Terminal,
    pub(super) rows: Terminal,
    pub(super) told_rows: Terminal,
    pub(super) number: Terminal,
    pub(super) star: Terminal,
    pub(super) open: Terminal,
    pub(super) close: Terminal,
    pub(super) word: Terminal,
    pub(super) start: Terminal,
    pub(super) odd: Terminal,
    pub(super) clause: Terminal,
    pub(super) aside: Terminal,
    pub(super) intro: Terminal,
    pub(super) headed: Terminal,
    pub(super) remark: Terminal,
    pub(super) note: Terminal,
    pub(super) coloured: Terminal,
    pub(super) onward: Terminal,
    pub(super) before: Terminal,
    pub(super) casts: [Terminal; 4],
    pub(super) times: [Terminal; 2],
    pub(super) count: Terminal,
    pub(super) count_left: Terminal,
    pub(super) counted: Terminal,
    pub(super) with_number: Terminal,
}

impl Terminals {
    /// Looks the terminals up in a grammar.
    pub fn of(grammar: &mut Grammar) -> Terminals {
        Terminals {
            stitch: grammar.terminal("ST"),
            movement: grammar.terminal("MOVE"),
            rest: grammar.terminal("REST"),
            row: grammar.terminal("ALL"),
            line: grammar.terminal("LINE"),
            off: grammar.terminal("OFF"),
            rows: grammar.terminal("ROWS"),
            told_rows: grammar.terminal("TOLDROWS"),
            number: grammar.terminal("NUM"),
            star: grammar.terminal("STAR"),
            open: grammar.terminal("OPEN"),
            close: grammar.terminal("CLOSE"),
            word: grammar.terminal("WORD"),
            start: grammar.terminal("START"),
            odd: grammar.terminal("ODD"),
            clause: grammar.terminal("CLAUSE"),
            aside: grammar.terminal("ASIDE"),
            intro: grammar.terminal("INTRO"),
            headed: grammar.terminal("HEADED"),
            remark: grammar.terminal("REMARK"),
            note: grammar.terminal("NOTE"),
            coloured: grammar.terminal("COLOURED"),
            onward: grammar.terminal("ONWARD"),
            before: grammar.terminal("PRETIMES"),
            casts: [
                grammar.terminal("CASTN"),
                grammar.terminal("CAST"),
                grammar.terminal("ONHAND"),
                grammar.terminal("EACHNEEDLE"),
            ],
            times: [grammar.terminal("TIMES"), grammar.terminal("MORETIMES")],
            count: grammar.terminal("COUNT"),
            count_left: grammar.terminal("COUNTLEFT"),
            counted: grammar.terminal("COUNTED"),
            with_number: grammar.terminal("WITHNUM"),
        }
    }
}
