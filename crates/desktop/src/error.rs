//! The one error of this crate.

/// Why the window could not be shown.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// There is no display, or none that a window could be opened on.
    #[error(
        "no window can be opened here ({0}); on a machine without a display use `holdtrace audit FILE`"
    )]
    NoDisplay(String),
    /// The window was opened and failed.
    #[error("the window failed: {0}")]
    Window(String),
}
