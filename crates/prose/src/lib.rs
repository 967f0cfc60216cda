//! A generator of period prose.
