//! The part of the books' page about tests of the equipment and seals: how they stand, and the forms by
//! which a supervisor enters a test, a seal, or one that was broken.

use super::words;
use crate::clock::minute;
use crate::theme::card::title;
use crate::theme::widgets::capital;
use crate::theme::{GAP, Look, Type, widgets};
use crate::why::Why;
use ::review::{TubeOnDay, TubeUsed};
use chrono::NaiveDate;
use egui::{Id, Ui};
use journal::Stamp;
use plant::{EquipmentTest, Plant, Zone};
use signers::{Equipment, RegisterFile, SealBroken, Sealed, Tested, UnlockedKey};

/// What a supervisor enters.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum EquipmentEntry {
    /// A test that was made.
    Tested(Tested),
    /// A seal that was applied.
    Sealed(Sealed),
    /// A seal that was broken.
    Broken(SealBroken),
}

impl EquipmentEntry {
    /// What it says, in a sentence.
    pub(super) fn sentence(&self) -> String {
        match self {
            Self::Tested(one) => {
                let result = if one.passed { "passed" } else { "failed" };
                format!(
                    "{} of {}, {}, {result}: {} against {}, by {}.",
                    capital(one.test.name()),
                    one.unit,
                    one.on,
                    one.figure,
                    one.limit,
                    one.tested_by
                )
            }
            Self::Sealed(one) => format!(
                "Seal {} on {} of {}, applied {} by {}.",
                one.seal,
                one.part,
                one.unit,
                minute(one.at),
                one.applied_by
            ),
            Self::Broken(one) => format!(
                "Seal {} of {}, broken {} by {}: {}.",
                one.seal,
                one.unit,
                minute(one.at),
                one.broken_by,
                one.reason
            ),
        }
    }

    /// Enters it.
    pub(super) fn enter(
        &self,
        register: &mut RegisterFile,
        (key, at): (&UnlockedKey, Stamp),
    ) -> Result<String, signers::Error> {
        match self.clone() {
            Self::Tested(one) => register.tested(one, key, at)?,
            Self::Sealed(one) => register.sealed(one, key, at)?,
            Self::Broken(one) => register.seal_broken(one, key, at)?,
        }
        Ok(format!("Entered: {}", self.sentence()))
    }
}

/// Which form is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Test,
    Seal,
    Broken,
}

impl Form {
    const ALL: [Self; 3] = [Self::Test, Self::Seal, Self::Broken];

    const fn title(self) -> &'static str {
        match self {
            Self::Test => "Enter a test",
            Self::Seal => "Enter a seal",
            Self::Broken => "A seal was broken",
        }
    }
}

/// What is typed.
#[derive(Debug, Default)]
pub(super) struct EquipmentForm {
    form: Option<Form>,
    test: String,
    failed: bool,
    on: String,
    figure: String,
    limit: String,
    part: String,
    seal: String,
    at: String,
    by: String,
    reason: String,
}

/// Draws how the tests and seals of a pasteurizer stand.
pub(super) fn standings(
    ui: &mut Ui,
    look: Look,
    (unit, today): (&str, NaiveDate),
    equipment: &Equipment,
    plant: &Plant,
) {
    ui.add_space(GAP);
    title(ui, look, &format!("Tests and seals of {unit}"), None);
    let tests = equipment.standings(unit, today, &plant.tests);
    let tests = tests.iter().map(|one| (one.in_words(), one.is_wanting));
    let used = TubeUsed::of(plant);
    let tube = TubeOnDay::of(equipment, (unit, today), used.as_ref());
    let tube = tube.map(|one| (one.words.clone(), one.is_wanting()));
    let seals = equipment.seals().iter().filter(|one| one.sealed.unit == unit);
    let seals = seals.map(|one| (one.in_words(), false));
    let mut lines: Vec<(String, bool)> = tests.chain(tube).chain(seals).collect();
    if lines.is_empty() {
        lines.push(("none is entered".to_owned(), false));
    }
    for (line, is_wanting) in lines {
        let ink = if is_wanting { look.colors.alert } else { look.colors.ink };
        let text = Type::Body.text(capital(&line), ink);
        ui.add(egui::Label::new(text).wrap().selectable(true));
    }
}

impl EquipmentForm {
    /// Whether a form is open.
    pub(super) const fn is_open(&self) -> bool {
        self.form.is_some()
    }

    /// Draws the choice of forms and the one that is open; gives what is to be entered.
    pub(super) fn show(
        &mut self,
        ui: &mut Ui,
        look: Look,
        unit: &str,
        zone: Zone,
    ) -> Option<EquipmentEntry> {
        ui.horizontal_wrapped(|ui| {
            for form in Form::ALL {
                if widgets::toggle(ui, look, self.form == Some(form), form.title()).clicked() {
                    self.form = (self.form != Some(form)).then_some(form);
                }
            }
        });
        let form = self.form?;
        let entered = self.fields(ui, look, form);
        let made = self.entry(form, unit, zone);
        let clicked =
            widgets::button(ui, look, "Continue to signing", "Enter").clicked() || entered;
        match made {
            Ok(entry) => clicked.then_some(entry),
            Err(why) => {
                ui.label(Type::Small.text(capital(&why), look.colors.ink_soft));
                None
            }
        }
    }

    /// Draws the fields; gives whether Enter was pressed in one while none was blank.
    fn fields(&mut self, ui: &mut Ui, look: Look, form: Form) -> bool {
        let fields = std::cell::RefCell::new(Vec::new());
        let id = |name: &str| Id::unique(("equipment", name));
        let plain = |ui: &mut Ui, name: &str, text: &mut String| {
            let field = words::plain(ui, look, id(name), name, text);
            fields.borrow_mut().push((field, text.trim().is_empty()));
        };
        match form {
            Form::Test => {
                let names = EquipmentTest::ALL.map(EquipmentTest::name);
                let (id, name) = (id("test"), "Which test");
                let test = words::offering(ui, look, id, name, &mut self.test, &names);
                fields.borrow_mut().push((test, self.test.trim().is_empty()));
                ui.horizontal(|ui| {
                    for (failed, name) in [(false, "Passed"), (true, "Failed")] {
                        if widgets::toggle(ui, look, self.failed == failed, name).clicked() {
                            self.failed = failed;
                        }
                    }
                });
                plain(ui, "Made on, YYYY-MM-DD", &mut self.on);
                ui.columns(2, |columns| {
                    if let [left, right] = columns {
                        plain(left, "Result, with its unit", &mut self.figure);
                        plain(right, "Required value, with its unit", &mut self.limit);
                    }
                });
                plain(ui, "Made by", &mut self.by);
            }
            Form::Seal => {
                plain(ui, "Number of the seal", &mut self.seal);
                plain(ui, "What it seals", &mut self.part);
                plain(ui, "Applied at, YYYY-MM-DD HH:MM", &mut self.at);
                plain(ui, "Applied by", &mut self.by);
            }
            Form::Broken => {
                plain(ui, "Number of the seal", &mut self.seal);
                plain(ui, "Broken at, YYYY-MM-DD HH:MM", &mut self.at);
                plain(ui, "Broken by", &mut self.by);
                plain(ui, "Why", &mut self.reason);
            }
        }
        words::is_submitted(ui, &fields.into_inner())
    }

    /// What the form says, or what is still missing.
    fn entry(&self, form: Form, unit: &str, zone: Zone) -> Result<EquipmentEntry, Why> {
        let unit = unit.to_owned();
        let text = |name: &str, text: &String| match text.trim() {
            "" => Err(Why::from(format!("required: {name}"))),
            text => Ok(text.to_owned()),
        };
        let at = || -> Result<Stamp, Why> {
            let instant = ingest::time_on_clock(&text("when", &self.at)?, zone)
                .map_err(|cause| cause.to_string())?;
            let stamp = zone.rfc3339(instant).parse::<Stamp>();
            Ok(stamp.map_err(|cause| cause.to_string())?)
        };
        Ok(match form {
            Form::Test => {
                let typed = text("which test", &self.test)?;
                let named = EquipmentTest::ALL.into_iter().find(|one| one.name() == typed);
                let on = text("the day", &self.on)?;
                let tested = Tested {
                    unit,
                    test: named.ok_or("choose one of the tests that are offered")?,
                    on: on
                        .parse()
                        .map_err(|_no_day| format!("{on:?} is not a date such as 2026-01-14"))?,
                    passed: !self.failed,
                    figure: text("the result", &self.figure)?,
                    limit: text("the required value", &self.limit)?,
                    tested_by: text("who made it", &self.by)?,
                };
                tested.check()?;
                EquipmentEntry::Tested(tested)
            }
            Form::Seal => EquipmentEntry::Sealed(Sealed {
                unit,
                part: text("what it seals", &self.part)?,
                seal: text("the number of the seal", &self.seal)?,
                at: at()?,
                applied_by: text("who applied it", &self.by)?,
            }),
            Form::Broken => EquipmentEntry::Broken(SealBroken {
                unit,
                seal: text("the number of the seal", &self.seal)?,
                at: at()?,
                broken_by: text("who broke it, or found it broken", &self.by)?,
                reason: text("why", &self.reason)?,
            }),
        })
    }
}
