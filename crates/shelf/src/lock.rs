//! Sees to it that one program at a time has the shelf, and knows whether the last one left it in good order.

use std::fs::{File, OpenOptions, TryLockError};

use crate::error::ShelfError;
use crate::folder::Folder;

/// How the program that had the shelf before left it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Left {
    /// It closed it, or there was none.
    InOrder,
    /// It was killed.
    Open,
    /// It found damage.
    Amiss,
}

impl Left {
    /// The state is the length of the file, which can be set on a full disk too.
    fn length(self) -> u64 {
        match self {
            Left::InOrder => 0,
            Left::Open => 1,
            Left::Amiss => 2,
        }
    }
}

/// The shelf held by this program, until it is dropped or the program ends, however that comes about.
#[derive(Debug)]
pub(crate) struct Lock {
    file: File,
    left: Left,
}

impl Lock {
    /// Takes the shelf of a folder.
    pub(crate) fn take(folder: &Folder) -> Result<Lock, ShelfError> {
        let told = |error| folder.told(error);
        let mut options = OpenOptions::new();
        let file = options.create(true).truncate(false).write(true).open(folder.lock()).map_err(told)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(ShelfError::InUse),
            Err(TryLockError::Error(error)) => return Err(told(error)),
        }
        let length = file.metadata().map_err(told)?.len();
        let states = [Left::InOrder, Left::Open];
        let left = states.into_iter().find(|left| left.length() == length).unwrap_or(Left::Amiss);
        // Damage stays in mind until this program leaves in order, which it does after it was mended.
        file.set_len(length.max(Left::Open.length())).map_err(told)?;
        Ok(Lock { file, left })
    }

    /// How the program that had the shelf before left it.
    pub(crate) fn left(&self) -> Left {
        self.left
    }

    /// Notes how this program leaves the shelf. Where that fails, the next start looks closer than it need.
    pub(crate) fn leave(&self, left: Left) {
        let _ = self.file.set_len(left.length());
    }
}
