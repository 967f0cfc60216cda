//! The way between choices of the crates below and those of [`crate::app::wire`] that are called alike.
//!
//! The wire has types of its own, so that those below can change; where both offer the same choices under the same names,
//! one list of them is enough.

/// `From` between two enumerations, for the names listed: one way (`A => B`), or both (`A, B`).
macro_rules! alike {
    ($own:ty => $form:ty: $($name:ident),+) => {
        impl From<$own> for $form {
            fn from(own: $own) -> $form {
                match own {
                    $(<$own>::$name => <$form>::$name),+
                }
            }
        }
    };
    ($own:ty, $form:ty: $($name:ident),+) => {
        $crate::app::alike::alike!($own => $form: $($name),+);
        $crate::app::alike::alike!($form => $own: $($name),+);
    };
}

pub(super) use alike;
