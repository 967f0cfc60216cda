//! Sees to it that one program at a time has the shelf, and knows whether the last one left in good order.

use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::path::Path;

use crate::error::ShelfError;

/// The shelf held by this program, until it is dropped or the program ends, however that comes about.
#[derive(Debug)]
pub(crate) struct Lock {
    file: File,
    left_in_order: bool,
}

impl Lock {
    /// Takes the shelf of a folder.
    pub(crate) fn take(folder: &Path) -> Result<Lock, ShelfError> {
        let told = |error: io::Error| ShelfError::of_folder(folder, error);
        let path = folder.join("shelf.lock");
        let file = OpenOptions::new().create(true).truncate(false).write(true).open(path).map_err(told)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(ShelfError::InUse),
            Err(TryLockError::Error(error)) => return Err(told(error)),
        }
        let left_in_order = file.metadata().map_err(told)?.len() == 0;
        // One byte stands for "open"; no block is needed for it, so that a full disk does not lock anyone out.
        file.set_len(1).map_err(told)?;
        Ok(Lock { file, left_in_order })
    }

    /// Whether the program that had the shelf before closed it.
    pub(crate) fn left_in_order(&self) -> bool {
        self.left_in_order
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Where this fails, the next start looks more closely than it need.
        let _ = self.file.set_len(0);
    }
}
