//! A message that something failed.

/// One message.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// What did not work, as a sentence without an end.
    pub title: String,
    /// Why, and what to do.
    pub text: String,
}

impl Problem {
    /// A message.
    pub fn new(title: impl Into<String>, text: impl Into<String>) -> Self {
        Self { title: title.into(), text: text.into() }
    }

    /// Everything, for the clipboard.
    pub fn whole(&self) -> String {
        format!("{}\n{}", self.title, self.text)
    }
}
