//! One instruction of a row as regularity sees it.

use std::rc::Rc;

use loops::Op;

/// One instruction as regularity sees it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Cell {
    pub(super) what: What,
    pub(super) times: u32,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum What {
    Ops(Rc<[Op]>),
    Rest(Op),
    Open,
    Close(bool),
    Group(u64),
    Look,
}
