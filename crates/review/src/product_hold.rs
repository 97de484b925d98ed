//! Product on hold. Who resolves an exception with the disposition *held* puts product on hold; it
//! stays on hold until somebody who may do so ends that with a reason and evidence, in a signed line
//! of the same journal. So it outlives the signatures under the record, and the journal tells it for
//! ever.

use crate::decision::Settlement;
use crate::ending::Ending;
use crate::mark::Mark;
use crate::refusal::{Refusal, refuse};
use signers::Verdict;

/// Product that was put on hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProductHold {
    /// What it is called: its tag, or, for one that an older program entered, the line that did.
    pub name: String,
    /// What of it each exception is about, in order; empty only after it ended.
    pub parts: Vec<HeldPart>,
    /// Who put it on hold, and when.
    pub since: Mark,
    /// Whether it stood under a signature: from then on it can't be changed but by who may end it.
    pub is_signed: bool,
    /// How it ended; `None` while the product is on hold.
    pub ended: Option<Ended>,
}

/// What was put on hold because of one exception, as it was entered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeldPart {
    /// The exception's identifier.
    pub exception: String,
    /// The tank that the product is in; blank when nobody said.
    pub tank: String,
    /// The lots; blank when nobody said.
    pub lot: String,
    /// How much, with its unit; blank when nobody said.
    pub quantity: String,
}

impl HeldPart {
    fn of(settlement: &Settlement) -> Self {
        let said = [&settlement.tank, &settlement.lot, &settlement.quantity];
        let [tank, lot, quantity] = said.map(|text| text.trim().to_owned());
        Self { exception: settlement.exception.clone(), tank, lot, quantity }
    }
}

impl ProductHold {
    /// The hold that a resolution begins.
    pub(crate) fn begun(settlement: &Settlement, mark: &Mark) -> Self {
        Self {
            name: name_of(settlement, mark.line),
            parts: vec![HeldPart::of(settlement)],
            since: mark.clone(),
            is_signed: false,
            ended: None,
        }
    }

    /// Puts the product of one more exception under it.
    pub(crate) fn add(&mut self, settlement: &Settlement) {
        self.parts.push(HeldPart::of(settlement));
    }

    /// Whether it was made for an exception, among others.
    pub fn is_of(&self, exception: &str) -> bool {
        self.parts.iter().any(|part| part.exception == exception)
    }

    /// Whether the product is on hold: also when the signature of whoever ended that does not hold.
    pub fn is_open(&self) -> bool {
        self.ended.as_ref().is_none_or(|ended| !ended.verdict.holds())
    }

    /// Whether only who may end it may change it.
    pub(crate) fn is_firm(&self) -> bool {
        self.is_signed && self.is_open() && !self.name.starts_with(LINE)
    }

    /// Whether the product of an exception stays on this hold when it is resolved so.
    pub(crate) fn stays_with(&self, settlement: &Settlement) -> bool {
        settlement.holds_product() && settlement.hold_tag.trim() == self.name
    }

    /// The tanks that were named, each once.
    pub fn tanks(&self) -> Vec<&str> {
        self.each(|part| &part.tank)
    }

    /// The lots that were named, each once.
    pub fn lots(&self) -> Vec<&str> {
        self.each(|part| &part.lot)
    }

    /// The quantities as they were entered, one for each exception, with a plus between.
    pub fn quantity(&self) -> String {
        let named = self.parts.iter().map(|part| part.quantity.as_str());
        named.filter(|text| !text.is_empty()).collect::<Vec<_>>().join(" + ")
    }

    fn each(&self, text: impl Fn(&HeldPart) -> &String) -> Vec<&str> {
        let mut each: Vec<&str> = Vec::new();
        for part in &self.parts {
            // What one part names with commas between is several.
            for one in text(part).split(',').map(str::trim).filter(|one| !one.is_empty()) {
                if !each.contains(&one) {
                    each.push(one);
                }
            }
        }
        each
    }

    /// What is on hold, in a line: quantity, lots and tanks, as far as they were entered.
    pub fn what(&self) -> String {
        let (lots, tanks) = (self.lots().join(", "), self.tanks().join(", "));
        let named = [("", self.quantity()), ("lot ", lots), ("tank ", tanks)];
        let named = named.into_iter().filter(|(_, text)| !text.is_empty());
        let named: Vec<String> = named.map(|(what, text)| format!("{what}{text}")).collect();
        if named.is_empty() { "product not named".to_owned() } else { named.join("; ") }
    }
}

/// What the name of a hold without a tag begins with.
const LINE: &str = "line ";

/// What a hold is called that a resolution in that line of the journal begins.
pub(crate) fn name_of(settlement: &Settlement, line: u64) -> String {
    match settlement.hold_tag.trim() {
        "" => format!("{LINE}{line}"),
        tag => tag.to_owned(),
    }
}

/// Whether a tag can name a hold.
///
/// # Errors
/// Why not.
pub(crate) fn allows_tag(tag: &str) -> Result<(), Refusal> {
    if tag.trim().starts_with(LINE) {
        return refuse(format!(
            "a tag does not begin with {LINE:?}: that is what holds without a tag are called"
        ));
    }
    Ok(())
}

/// How a hold ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ended {
    /// What became of the product, why, and what shows it.
    pub ending: Ending,
    /// Who says so, and when.
    pub mark: Mark,
    /// Whether the signature holds: else the product is on hold still.
    pub verdict: Verdict,
}
