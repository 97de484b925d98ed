//! Why a Parquet file is not read, in words.

/// Bytes that are no Parquet file, or no longer one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Damaged;

/// Why a file or a column of it is not read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Why {
    Damaged,
    TooLarge,
    Codec,
    Encoding,
}

impl From<Damaged> for Why {
    fn from(_damaged: Damaged) -> Self {
        Self::Damaged
    }
}

impl Why {
    /// The rest of a sentence that begins with the name of the file.
    pub(super) fn words(self, column: &str) -> String {
        match self {
            Self::Damaged => "is a Parquet file that is damaged or cut off".to_owned(),
            Self::TooLarge => "is a Parquet file of more than 1 GiB unpacked".to_owned(),
            Self::Codec => {
                format!(
                    "is a Parquet file whose column {column:?} is packed in a way that is not read"
                )
            }
            Self::Encoding => {
                format!(
                    "is a Parquet file whose column {column:?} is encoded in a way that is not read"
                )
            }
        }
    }
}
