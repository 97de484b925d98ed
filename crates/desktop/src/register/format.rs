//! What the summary of a range is saved as.

/// What a summary is saved as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RangeFormat {
    /// For filing.
    Pdf,
    /// For a spreadsheet, one row a record.
    Days,
    /// For a spreadsheet, one row an exception.
    Exceptions,
    /// For a program.
    Json,
}

impl RangeFormat {
    /// All formats, in order.
    pub const ALL: [Self; 4] = [Self::Pdf, Self::Days, Self::Exceptions, Self::Json];

    /// What is written on its button.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Pdf => "Save as PDF",
            Self::Days => "Save days as CSV",
            Self::Exceptions => "Save exceptions as CSV",
            Self::Json => "Save as JSON",
        }
    }

    /// What its file holds, as its name begins.
    pub const fn what(self) -> &'static str {
        match self {
            Self::Pdf | Self::Json => "Exception summary",
            Self::Days => "Days",
            Self::Exceptions => "Exceptions",
        }
    }

    /// How the name of a file of this kind ends.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Pdf => "pdf",
            Self::Days | Self::Exceptions => "csv",
            Self::Json => "json",
        }
    }
}
