//! Review and sign-off: what the technician and the supervisor decide about a record, kept in a
//! chained journal beside it, so that it can't be lost, can't be changed unseen, and can be checked
//! by someone who doesn't trust this program.
//!
//! [`State`] is what replaying the journal's lines gives; [`Desk`] is the journal opened for
//! writing, where every decision is checked, appended and synced before it counts; [`verify`] tells link by link
//! whether a record is what was signed. The formats and rules are in `docs/review.md`. This crate
//! reads no logger file and knows no clock and no screen.

mod at_work;
mod decision;
mod desk;
mod differs;
mod divert;
mod drafts;
mod ending;
mod entries_signed;
mod error;
mod hole;
mod json;
mod mark;
mod observed;
mod paths;
mod product_hold;
mod refusal;
mod reviewed;
mod seals;
mod stage;
mod state;
#[cfg(test)]
mod state_tests;
mod subject;
mod tube;
mod verify;
mod waiting;

pub use at_work::Holder;
pub use decision::{
    Bundle, Correction, DISPOSITIONS, Decision, HELD, ItemKind, Scope, Settlement, Together,
    disposition_name, holds_product,
};
pub use desk::Desk;
pub use divert::divert_reason;
pub use drafts::Drafts;
pub use ending::{Ending, EvidenceFile, LaboratoryResult, Outcome, Shown};
pub use entries_signed::{EntriesSigned, SIGNATURE};
pub use error::Error;
pub use hole::{HOLE_BEFORE, HoleBefore};
pub use mark::Mark;
pub use observed::closing_ids;
pub use paths::Paths;
pub use product_hold::{Ended, HeldPart, ProductHold};
pub use refusal::Refusal;
pub use reviewed::Reviewed;
pub use seals::broken_seals;
pub use signers::{Act, Books, Imprint, Known, Meaning, Role, SignerId};
pub use stage::Stage;
pub use state::{Made, Progress, Proof, Signed, Standing, State};
pub use subject::{
    ClosingItem, DivertItem, ExceptionItem, ObservationItem, PlantSource, Source, Subject,
};
pub use tube::{TubeOnDay, TubeStanding, TubeUsed};
pub use verify::{
    AUDIT, Evidence, HOLE, Kind, Link, SIGN_OFF, Verification, limits_approved,
    plant_file_approved, verify,
};
