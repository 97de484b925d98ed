//! What a person enters to end a hold: what became of the product, why, and what shows it, a
//! laboratory's result or a file beside the record; and whether that is enough.

use crate::error::Error;
use crate::refusal::{Refusal, refuse};
use chrono::NaiveDate;
use disk::Links;
use journal::Digest;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::path::{Path, PathBuf};
use trace::{Decimal, DecimalMark, Toward};

/// What a person enters to end a hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ending {
    /// The hold's name.
    pub hold: String,
    /// What became of the product.
    pub outcome: Outcome,
    /// Why; never blank.
    pub reason: String,
    /// What shows it.
    pub evidence: Shown,
}

/// What became of product that was on hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// It was released.
    Released,
    /// It was pasteurized again.
    RePasteurized,
    /// It went to another use.
    DivertedToOtherUse,
    /// It was destroyed.
    Destroyed,
}

impl Outcome {
    /// All of them, in order.
    pub const ALL: [Self; 4] =
        [Self::Released, Self::RePasteurized, Self::DivertedToOtherUse, Self::Destroyed];

    /// Key and name.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Released => ("released", "released"),
            Self::RePasteurized => ("re_pasteurized", "re-pasteurized"),
            Self::DivertedToOtherUse => ("diverted_to_other_use", "diverted to other use"),
            Self::Destroyed => ("destroyed", "destroyed"),
        }
    }

    /// The key in tables.
    pub const fn key(self) -> &'static str {
        self.words().0
    }

    /// The words for a person.
    pub const fn name(self) -> &'static str {
        self.words().1
    }
}

impl fmt::Display for Outcome {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.name())
    }
}

/// What shows that a hold could be ended.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Shown {
    /// A result of a laboratory.
    Laboratory(LaboratoryResult),
    /// A file, which lies beside the record.
    File(EvidenceFile),
}

/// A result of a laboratory.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub struct LaboratoryResult {
    /// What was looked for, such as "alkaline phosphatase".
    pub test: String,
    /// By which method.
    pub method: String,
    /// What was found: a figure, which may begin with `<`, or words.
    pub value: String,
    /// The highest allowed value, or the required words.
    pub limit: String,
    /// The unit of both; blank for words.
    pub unit: String,
    /// Which laboratory.
    pub laboratory: String,
    /// The date of the result, `YYYY-MM-DD`.
    pub date: String,
}

/// A file that is evidence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EvidenceFile {
    /// Its name, without folder: it lies beside the record.
    pub name: String,
    /// Its length.
    pub bytes: u64,
    /// The SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
}

/// The most that is read of a file that is evidence (ours: a scanned page has a few megabytes).
const LARGEST_EVIDENCE: u64 = 64 << 20;

impl EvidenceFile {
    /// The file `file`, which must lie in `folder`.
    pub(crate) fn read(folder: &Path, file: &Path) -> Result<Self, Error> {
        let refused = |cause| Error::Evidence { path: file.to_owned(), cause };
        let here =
            |path: &Path| if path == Path::new("") { PathBuf::from(".") } else { path.to_owned() };
        let beside = file.parent().map(here).map(|parent| parent.canonicalize()).transpose();
        let beside =
            beside.map_err(refused)? == Some(here(folder).canonicalize().map_err(refused)?);
        let Some(name) = file.file_name().and_then(|name| name.to_str()).filter(|_| beside) else {
            return Err(Error::Refused(Refusal(format!(
                "{}: evidence is kept with the record: put the file into {} first",
                file.display(),
                here(folder).display()
            ))));
        };
        let bytes = disk::read(file, LARGEST_EVIDENCE, Links::Refuse).map_err(refused)?;
        let sha256 = Digest::of(&bytes).to_string();
        Ok(Self { name: name.to_owned(), bytes: bytes.len() as u64, sha256 })
    }

    /// Whether it lies in `folder` as it was; why not, in a sentence.
    pub(crate) fn is_there(&self, folder: &Path) -> Result<(), String> {
        let bytes = disk::read(&folder.join(&self.name), LARGEST_EVIDENCE, Links::Refuse);
        let bytes = bytes.map_err(|cause| format!("it can't be read: {cause}"))?;
        match Digest::of(&bytes).to_string() {
            now if now == self.sha256 => Ok(()),
            now => Err(format!("sha256 was {}, is {now}: it was changed", self.sha256)),
        }
    }
}

impl Shown {
    /// What it is, in a line.
    pub fn in_words(&self) -> String {
        match self {
            Self::Laboratory(result) => result.in_words(),
            Self::File(file) => {
                format!("file {} ({} bytes, sha256 {})", file.name, file.bytes, file.sha256)
            }
        }
    }
}

impl LaboratoryResult {
    /// The result in a line.
    pub fn in_words(&self) -> String {
        let Self { test, method, value, limit, unit, laboratory, date } = self;
        let with_unit = |text: &str| format!("{text} {unit}").trim().to_owned();
        let limit = match figure(limit, Toward::Down) {
            Some(_) => format!("at most {}", with_unit(limit)),
            None => format!("required: {limit}"),
        };
        format!("{test} by {method}: {} ({limit}), {laboratory}, {date}", with_unit(value))
    }

    /// What is not entered as it must be.
    fn allows(&self) -> Result<(), Refusal> {
        for (what, text) in [
            ("what the laboratory looked for", &self.test),
            ("the laboratory's method", &self.method),
            ("the laboratory's result", &self.value),
            ("the limit of the laboratory's result", &self.limit),
            ("which laboratory", &self.laboratory),
            ("the date of the laboratory's result", &self.date),
        ] {
            if text.trim().is_empty() {
                return refuse(format!("required: {what}"));
            }
        }
        if self.date.trim().parse::<NaiveDate>().is_err() {
            return refuse(format!(
                "the date of the laboratory's result is written as 2026-03-14, not {:?}",
                self.date
            ));
        }
        if figure(&self.limit, Toward::Down).is_some() && self.unit.trim().is_empty() {
            return refuse("required: the unit of the laboratory's result");
        }
        Ok(())
    }

    /// Whether what was found is within its limit; `None` where the two can't be compared, which
    /// counts as not within it.
    pub fn is_within(&self) -> Option<bool> {
        match (figure(&self.value, Toward::Up), figure(&self.limit, Toward::Down)) {
            (Some(value), Some(limit)) => Some(value <= limit),
            (None, None) => {
                Some(self.value.trim().to_lowercase() == self.limit.trim().to_lowercase())
            }
            _ => None,
        }
    }
}

/// The figure in a result: `<10` is at most 10. Digits that find no room are rounded as `toward` says.
fn figure(text: &str, toward: Toward) -> Option<Decimal> {
    let text = text.trim();
    let text = text.strip_prefix('<').unwrap_or(text).trim();
    Decimal::parse(text.as_bytes(), DecimalMark::Dot, toward).ok()
}

impl Ending {
    /// Whether everything that it takes is entered, and shows what it should.
    ///
    /// # Errors
    /// What is missing, or does not show it.
    pub fn allows(&self) -> Result<(), Refusal> {
        if self.reason.trim().is_empty() {
            return refuse("required: the reason why the hold is ended");
        }
        match &self.evidence {
            Shown::Laboratory(result) => {
                result.allows()?;
                if self.outcome == Outcome::Released && result.is_within() != Some(true) {
                    return refuse(format!(
                        "product is not released on this result: {}",
                        result.in_words()
                    ));
                }
                Ok(())
            }
            Shown::File(EvidenceFile { name, .. }) if !is_plain_name(name) => refuse(format!(
                "the file that is evidence lies beside the record and is named without folder, not \
                 {name:?}"
            )),
            Shown::File(_) => Ok(()),
        }
    }
}

fn is_plain_name(name: &str) -> bool {
    !matches!(name, "" | "." | "..") && !name.contains(['/', '\\', '\0', ':'])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn result(value: &str, limit: &str, unit: &str) -> LaboratoryResult {
        LaboratoryResult {
            test: "alkaline phosphatase".to_owned(),
            method: "fluorometric".to_owned(),
            value: value.to_owned(),
            limit: limit.to_owned(),
            unit: unit.to_owned(),
            laboratory: "Works laboratory (invented)".to_owned(),
            date: "2026-03-16".to_owned(),
        }
    }

    fn ending(outcome: Outcome, evidence: Shown) -> Ending {
        let (hold, reason) = ("H-1".to_owned(), "result within its limit".to_owned());
        Ending { hold, outcome, reason, evidence }
    }

    #[test]
    fn product_is_released_only_on_a_result_within_its_limit() {
        for (value, limit, unit, within) in [
            ("180", "350", "mU/L", Some(true)),
            ("350", "350.0", "mU/L", Some(true)),
            ("350.1", "350", "mU/L", Some(false)),
            ("<10", "10", "mU/L", Some(true)),
            ("< 20", "10", "mU/L", Some(false)),
            ("not detected", "Not detected", "", Some(true)),
            ("detected", "not detected", "", Some(false)),
            ("not detected", "350", "mU/L", None),
            ("180", "negative", "", None),
        ] {
            let result = result(value, limit, unit);
            assert_eq!(result.is_within(), within, "{value} {limit}");
            let shown = Shown::Laboratory(result);
            let released = ending(Outcome::Released, shown.clone()).allows();
            assert_eq!(released.is_ok(), within == Some(true), "{value} {limit}");
            // What is destroyed needs no good result.
            assert!(ending(Outcome::Destroyed, shown).allows().is_ok(), "{value} {limit}");
        }
    }

    #[test]
    fn nothing_that_is_asked_for_may_be_blank() {
        type Blank = fn(&mut LaboratoryResult);
        let blanks: [Blank; 6] = [
            |one| one.test.clear(),
            |one| one.method = " ".to_owned(),
            |one| one.value.clear(),
            |one| one.limit.clear(),
            |one| one.unit.clear(),
            |one| one.laboratory.clear(),
        ];
        for blank in blanks {
            let mut result = result("180", "350", "mU/L");
            blank(&mut result);
            assert!(ending(Outcome::Destroyed, Shown::Laboratory(result)).allows().is_err());
        }
        for date in ["", "16 March 2026", "2026-02-30"] {
            let result = LaboratoryResult { date: date.to_owned(), ..result("1", "2", "mU/L") };
            assert!(ending(Outcome::Destroyed, Shown::Laboratory(result)).allows().is_err());
        }
        let mut no_reason = ending(Outcome::Destroyed, Shown::Laboratory(result("1", "2", "u")));
        no_reason.reason = " ".to_owned();
        assert!(no_reason.allows().is_err());
    }

    #[test]
    fn a_file_that_is_evidence_lies_beside_the_record() {
        let file = |name: &str| {
            let (name, sha256) = (name.to_owned(), "ab".repeat(32));
            Shown::File(EvidenceFile { name, bytes: 3, sha256 })
        };
        assert!(ending(Outcome::Released, file("result 16 March.pdf")).allows().is_ok());
        for name in ["", "..", "../a.pdf", "a/b.pdf", "C:\\a.pdf"] {
            assert!(ending(Outcome::Released, file(name)).allows().is_err(), "{name}");
        }
    }
}
