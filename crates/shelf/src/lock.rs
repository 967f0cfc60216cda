//! Sees to it that one program at a time has the shelf, and knows whether the last one left it in good order.

use std::fs::{File, OpenOptions, TryLockError};

use crate::error::ShelfError;
use crate::folder::Folder;

/// The shelf held by this program, until it is dropped or the program ends, however that comes about.
#[derive(Debug)]
pub(crate) struct Lock {
    file: File,
    left_in_order: bool,
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
        let left_in_order = file.metadata().map_err(told)?.len() == 0;
        // A file one byte long stands for "open".
        file.set_len(1).map_err(told)?;
        Ok(Lock { file, left_in_order })
    }

    /// Whether the program that had the shelf before closed it and had found nothing amiss.
    pub(crate) fn left_in_order(&self) -> bool {
        self.left_in_order
    }

    /// Notes that the shelf is left in good order. Where that fails, the next start looks closer than it need.
    pub(crate) fn leave_in_order(&self) {
        let _ = self.file.set_len(0);
    }
}
