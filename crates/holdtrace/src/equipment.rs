//! `holdtrace equipment`: tests of the equipment and seals, in the plant's register.

use crate::arguments::{
    AtPlantArguments, EquipmentCommand, EquipmentListArguments, SealArguments, SealBrokenArguments,
    TestArguments,
};
use crate::folder::plant;
use crate::outcome::Outcome;
use crate::signer::{acting, open, told};
use crate::{folder, output};
use journal::Stamp;
use plant::{EquipmentTest, Zone};
use review::{TubeOnDay, TubeUsed};
use signers::{SealBroken, Sealed, Tested};
use std::error::Error;
use trace::Lines;

/// Runs the command.
///
/// # Errors
/// When the register can't be used, its rules refuse, or the plant file can't be read.
pub fn run(command: &EquipmentCommand) -> Result<Outcome, Box<dyn Error>> {
    match command {
        EquipmentCommand::List(arguments) => list(arguments),
        EquipmentCommand::Test(arguments) => test(arguments),
        EquipmentCommand::Seal(arguments) => seal(arguments),
        EquipmentCommand::SealBroken(arguments) => seal_broken(arguments),
    }
}

fn list(arguments: &EquipmentListArguments) -> Result<Outcome, Box<dyn Error>> {
    let EquipmentListArguments { register, plant: file, unit, on } = arguments;
    let plant = plant(file.as_deref(), &register.register)?;
    let unit = unit.clone().unwrap_or_else(|| plant.unit.clone());
    let on = on.unwrap_or_else(folder::today);
    let register = open(register)?;
    let equipment = register.register().equipment();
    let mut text = Lines::new();
    text.line(format_args!("{unit}, {on}"));
    let standings = equipment.standings(&unit, on, &plant.tests);
    for one in &standings {
        let mark = if one.is_wanting { "WANTING  " } else { "" };
        text.line(format_args!("{mark}{}", one.in_words()));
    }
    // Of another pasteurizer nothing is known here but its register.
    let used = TubeUsed::of(&plant);
    let tube = (plant.unit == unit)
        .then(|| TubeOnDay::of(equipment, (&unit, on), used.as_ref()))
        .flatten();
    if let Some(tube) = &tube {
        let mark = if tube.is_wanting() { "WANTING  " } else { "" };
        text.line(format_args!("{mark}{}", tube.words));
    }
    let mut is_broken = tube.is_some_and(|tube| tube.is_wanting());
    for seal in equipment.seals().iter().filter(|one| one.sealed.unit == unit) {
        is_broken |= !seal.is_whole();
        text.line(format_args!("{}", seal.in_words()));
    }
    if standings.is_empty() {
        text.line(format_args!(
            "no test is entered, and the plant file names none ([equipment] tests)"
        ));
    }
    output::say(&text)?;
    let is_clean = !standings.is_empty() && standings.iter().all(|one| !one.is_wanting);
    Ok(if is_clean && !is_broken { Outcome::Clean } else { Outcome::Exceptions })
}

fn test(arguments: &TestArguments) -> Result<Outcome, Box<dyn Error>> {
    let TestArguments { acting: by, unit, test, on, passed, failed: _, figure, limit, tested_by } =
        arguments;
    let keys = || EquipmentTest::ALL.map(EquipmentTest::key).join(", ");
    let named = EquipmentTest::from_key(test);
    let test = named.ok_or_else(|| format!("{test:?} is none of {}", keys()))?;
    if *on > folder::today() {
        return Err(format!("{on} is later than today").into());
    }
    let tested = Tested {
        unit: unit.clone(),
        test,
        on: *on,
        passed: *passed,
        figure: figure.clone(),
        limit: limit.clone(),
        tested_by: tested_by.clone(),
    };
    let (mut register, key, at) = acting(by)?;
    register.tested(tested, &key, at)?;
    told(&register, &format!("{test} of {unit} on {on} is entered"))?;
    Ok(Outcome::Clean)
}

/// The plant's clock.
fn zone(arguments: &AtPlantArguments) -> Result<Zone, Box<dyn Error>> {
    Ok(plant(arguments.plant.as_deref(), &arguments.acting.register.register)?.zone)
}

/// A time that was given, on the plant's clock or with its offset.
fn time(text: &str, zone: Zone) -> Result<Stamp, Box<dyn Error>> {
    let instant = ingest::time_on_clock(text, zone)?;
    Ok(zone.rfc3339(instant).parse()?)
}

fn seal(arguments: &SealArguments) -> Result<Outcome, Box<dyn Error>> {
    let SealArguments { at_plant, part, seal, at: when, applied_by } = arguments;
    let (by, unit, zone) = (&at_plant.acting, &at_plant.unit, zone(at_plant)?);
    let sealed = Sealed {
        unit: unit.clone(),
        part: part.clone(),
        seal: seal.clone(),
        at: time(when, zone)?,
        applied_by: applied_by.clone(),
    };
    let (mut register, key, at) = acting(by)?;
    register.sealed(sealed, &key, at)?;
    told(&register, &format!("the seal {seal} on {part} of {unit} is entered"))?;
    Ok(Outcome::Clean)
}

fn seal_broken(arguments: &SealBrokenArguments) -> Result<Outcome, Box<dyn Error>> {
    let SealBrokenArguments { at_plant, seal, at: when, broken_by, reason } = arguments;
    let (by, unit, zone) = (&at_plant.acting, &at_plant.unit, zone(at_plant)?);
    let broken = SealBroken {
        unit: unit.clone(),
        seal: seal.clone(),
        at: time(when, zone)?,
        broken_by: broken_by.clone(),
        reason: reason.clone(),
    };
    let (mut register, key, at) = acting(by)?;
    register.seal_broken(broken, &key, at)?;
    told(&register, &format!("the seal {seal} of {unit} is entered as broken"))?;
    Ok(Outcome::Clean)
}
