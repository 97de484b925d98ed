//! What is typed and not decided yet. It is kept as a draft in the user's own folder: at most once
//! a second while one types, at once when the keyboard goes elsewhere and when the record is
//! closed.

use crate::why::Why;
use ::review::{DISPOSITIONS, Drafts, ExceptionItem, Settlement, Standing, disposition_name};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

/// The form of a settlement. Its disposition is as the person reads it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Form {
    /// What is filled in.
    pub settlement: Settlement,
    /// Whether the rest of the episode, or of the cleaning, is resolved alike.
    pub whole_episode: bool,
}

impl Form {
    fn begun(item: &ExceptionItem, standing: &Standing) -> Self {
        let before = match standing {
            Standing::SentBack { before, .. } => before.clone(),
            _ => None,
        };
        let settlement = before.map_or_else(
            || Settlement {
                exception: item.id.clone(),
                quantity: item.quantity.clone().unwrap_or_default(),
                lot: item.lots.join(", "),
                ..Settlement::default()
            },
            for_reading,
        );
        // What lies in one cleaning is resolved once, unless somebody wants it otherwise.
        Self { settlement, whole_episode: item.cleaning.is_some() }
    }

    /// What is decided when the form is entered as it is.
    pub fn settlement(&self) -> Settlement {
        let typed = self.settlement.disposition.trim();
        let same = |word: &str| word.eq_ignore_ascii_case(typed);
        let known = DISPOSITIONS.iter().find(|(key, name)| same(key) || same(name));
        let disposition = known.map_or(typed, |(key, _)| key).to_owned();
        Settlement { disposition, ..self.settlement.clone() }
    }
}

/// The same with the disposition as a person reads it.
fn for_reading(settlement: Settlement) -> Settlement {
    let disposition = disposition_name(&settlement.disposition).to_owned();
    Settlement { disposition, ..settlement }
}

/// What is typed.
#[derive(Debug)]
pub struct Typed {
    drafts: Option<Drafts>,
    forms: BTreeMap<String, Form>,
    texts: BTreeMap<String, String>,
    /// The keys of what has changed since it was kept, and since when.
    changed: BTreeSet<String>,
    since: Option<Instant>,
}

/// What the form of exceptions that are chosen together is kept under.
const MANY: &str = "exceptions chosen together";

/// How often what is being typed is kept.
const PAUSE: Duration = Duration::from_secs(1);

fn form_key(id: &str) -> String {
    format!("settle {id}")
}

fn remark_key(id: &str) -> String {
    format!("remark {id}")
}

fn reason_key(id: &str) -> String {
    format!("close {id}")
}

fn note_key(kind: &str) -> String {
    format!("note {kind}")
}

fn hold_key(hold: &str, field: &str) -> String {
    format!("hold {hold}: {field}")
}

fn seal_key(seal: &str) -> String {
    format!("seal {seal}")
}

fn entry_key(item: &str) -> String {
    format!("entry {item}")
}

impl Typed {
    /// With what was kept before.
    pub const fn new(drafts: Option<Drafts>) -> Self {
        Self {
            drafts,
            forms: BTreeMap::new(),
            texts: BTreeMap::new(),
            changed: BTreeSet::new(),
            since: None,
        }
    }

    /// The form of an exception: as it was left, else filled in as far as the audit can.
    pub fn form(&self, item: &ExceptionItem, standing: &Standing) -> Form {
        let kept = || self.drafts.as_ref().and_then(|drafts| drafts.get(&form_key(&item.id)));
        let form = self.forms.get(&item.id).cloned();
        form.or_else(kept).unwrap_or_else(|| Form::begun(item, standing))
    }

    /// The form of exceptions that are chosen together, as it was left.
    pub fn many(&self) -> Form {
        let kept = || self.drafts.as_ref().and_then(|drafts| drafts.get(&form_key(MANY)));
        let blank = || Settlement { exception: MANY.to_owned(), ..Settlement::default() };
        let form = self.forms.get(MANY).cloned().or_else(kept);
        form.unwrap_or_else(|| Form { settlement: blank(), whole_episode: false })
    }

    /// Begins that form with what was decided about one of them.
    pub fn put_many(&mut self, settlement: Settlement) {
        self.put_form(Settlement {
            exception: MANY.to_owned(),
            quantity: String::new(),
            lot: String::new(),
            ..settlement
        });
    }

    /// Takes a changed form in.
    pub fn set_form(&mut self, form: Form) {
        let id = form.settlement.exception.clone();
        self.change(form_key(&id));
        self.forms.insert(id, form);
    }

    /// Begins a form with a settlement.
    pub fn put_form(&mut self, settlement: Settlement) {
        self.set_form(Form { settlement: for_reading(settlement), whole_episode: false });
    }

    /// Forgets the form of exceptions that were chosen together.
    pub fn forget_many(&mut self) {
        self.forget_form(MANY);
    }

    /// Forgets the form of an exception that is settled.
    pub fn forget_form(&mut self, id: &str) {
        self.forms.remove(id);
        self.forget(&form_key(id));
    }

    /// The remark about an exception.
    pub fn remark(&self, id: &str) -> String {
        self.text(&remark_key(id))
    }

    /// Takes a changed remark in.
    pub fn set_remark(&mut self, id: &str, text: String) {
        self.set(remark_key(id), text);
    }

    /// Forgets a remark that was made.
    pub fn forget_remark(&mut self, id: &str) {
        self.forget(&remark_key(id));
    }

    /// The reason with which an observation is to be closed.
    pub fn reason(&self, id: &str) -> String {
        self.text(&reason_key(id))
    }

    /// Takes a changed reason in.
    pub fn set_reason(&mut self, id: &str, text: String) {
        self.set(reason_key(id), text);
    }

    /// Forgets the reason of an observation that is closed.
    pub fn forget_reason(&mut self, id: &str) {
        self.forget(&reason_key(id));
    }

    /// The note with which a kind of observations is to be acknowledged.
    pub fn note(&self, kind: &str) -> String {
        self.text(&note_key(kind))
    }

    /// Takes a changed note in.
    pub fn set_note(&mut self, kind: &str, text: String) {
        self.set(note_key(kind), text);
    }

    /// Forgets the note of a kind that is acknowledged.
    pub fn forget_note(&mut self, kind: &str) {
        self.forget(&note_key(kind));
    }

    /// What is typed into a field of the form that ends a hold.
    pub fn hold(&self, hold: &str, field: &str) -> String {
        self.text(&hold_key(hold, field))
    }

    /// Takes a changed field of that form in.
    pub fn set_hold(&mut self, hold: &str, field: &str, text: String) {
        self.set(hold_key(hold, field), text);
    }

    /// Forgets the form of a hold that has ended.
    pub fn forget_hold(&mut self, hold: &str) {
        let begins = hold_key(hold, "");
        let drafts = self.drafts.as_ref().map(Drafts::keys).unwrap_or_default();
        let typed = self.texts.keys().cloned().chain(drafts);
        let keys: BTreeSet<String> = typed.filter(|key| key.starts_with(&begins)).collect();
        for key in keys {
            self.forget(&key);
        }
    }

    /// What is typed about a broken seal.
    pub fn seal(&self, seal: &str) -> String {
        self.text(&seal_key(seal))
    }

    /// Takes a changed word about a broken seal in.
    pub fn set_seal(&mut self, seal: &str, text: String) {
        self.set(seal_key(seal), text);
    }

    /// Forgets the word about a broken seal that is entered.
    pub fn forget_seal(&mut self, seal: &str) {
        self.forget(&seal_key(seal));
    }

    /// What is typed for an entry.
    pub fn entry(&self, item: &str) -> String {
        self.text(&entry_key(item))
    }

    /// Takes a changed entry in.
    pub fn set_entry(&mut self, item: &str, text: String) {
        self.set(entry_key(item), text);
    }

    /// Forgets what was typed for an entry that is made.
    pub fn forget_entry(&mut self, item: &str) {
        self.forget(&entry_key(item));
    }

    fn text(&self, key: &str) -> String {
        let kept = || self.drafts.as_ref().and_then(|drafts| drafts.get(key));
        self.texts.get(key).cloned().or_else(kept).unwrap_or_default()
    }

    fn set(&mut self, key: String, text: String) {
        self.change(key.clone());
        self.texts.insert(key, text);
    }

    fn change(&mut self, key: String) {
        self.changed.insert(key);
        self.since.get_or_insert_with(Instant::now);
    }

    fn forget(&mut self, key: &str) {
        self.texts.remove(key);
        self.changed.remove(key);
        if let Some(drafts) = &mut self.drafts {
            // What stays behind is offered once more, and harms nobody.
            let _forgotten = drafts.forget(key);
        }
    }

    /// How long until what is typed should be kept; `None` when all is.
    pub fn due(&self) -> Option<Duration> {
        let since = self.since.filter(|_| !self.changed.is_empty())?;
        Some(PAUSE.saturating_sub(since.elapsed()))
    }

    /// Keeps what has changed.
    ///
    /// # Errors
    /// Why it can't be kept.
    pub fn keep(&mut self) -> Result<(), Why> {
        self.since = None;
        let changed = std::mem::take(&mut self.changed);
        let Some(drafts) = &mut self.drafts else { return Ok(()) };
        for key in changed {
            let form = key.strip_prefix("settle ").and_then(|id| self.forms.get(id));
            let kept = match (form, self.texts.get(&key)) {
                (Some(form), _) => drafts.keep(&key, form),
                (None, Some(text)) => drafts.keep(&key, text),
                (None, None) => Ok(()),
            };
            kept?;
        }
        Ok(())
    }
}

impl Drop for Typed {
    fn drop(&mut self) {
        // The window is being closed: there is nobody left to tell.
        let _kept = self.keep();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disposition_is_known_by_its_name_and_free_text_stays() {
        let form = |text: &str| Form {
            settlement: Settlement { disposition: text.to_owned(), ..Settlement::default() },
            whole_episode: false,
        };
        for (key, name) in DISPOSITIONS {
            assert_eq!(form(name).settlement().disposition, key);
            assert_eq!(form(&name.to_uppercase()).settlement().disposition, key);
        }
        assert_eq!(form(" fed to calves ").settlement().disposition, "fed to calves");
        assert_eq!(form("").settlement().disposition, "");
    }
}
