//! The one error of this crate.

use std::fmt;

/// Why the window could not be shown.
#[derive(Debug)]
pub enum Error {
    /// There is no display, or none that a window could be opened on.
    NoDisplay(String),
    /// The window was opened and failed.
    Window(String),
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoDisplay(cause) => write!(
                formatter,
                "no window can be opened here ({cause}); on a machine without a display use \
                 `holdtrace audit FILE`"
            ),
            Self::Window(cause) => write!(formatter, "the window failed: {cause}"),
        }
    }
}

impl std::error::Error for Error {}
