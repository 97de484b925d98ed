//! `holdtrace signer`: keys on this machine, and the plant's register.

use crate::arguments::{
    ActingArguments, ApproveArguments, CorrectRegisterArguments, EnrolArguments, KeyArguments,
    QualifyArguments, RegisterArguments, RevokeArguments, RoleArguments, SecondArguments,
    SetUpArguments, SignerCommand, SignerRole, TrustArguments, WithdrawFileArguments,
};
use crate::outcome::Outcome;
use crate::{output, person};
use journal::Stamp;
use signers::{
    Cost, Enrolment, PublicKey, Qualification, RegisterFile, Role, SignerId, UnlockedKey,
};
use std::error::Error;
use std::path::{Path, PathBuf};
use trace::Lines;

/// Runs the command.
///
/// # Errors
/// When a key or the register can't be used, or the register's rules refuse.
pub fn run(command: &SignerCommand) -> Result<Outcome, Box<dyn Error>> {
    match command {
        SignerCommand::SetUp(arguments) => set_up(arguments)?,
        SignerCommand::Key(arguments) => key(arguments)?,
        SignerCommand::Passphrase(arguments) => passphrase(arguments)?,
        SignerCommand::Enrol(arguments) => enrol(arguments)?,
        SignerCommand::Role(arguments) => role(arguments)?,
        SignerCommand::Qualify(arguments) => qualify(arguments)?,
        SignerCommand::Revoke(arguments) => revoke(arguments)?,
        SignerCommand::List(arguments) => list(arguments)?,
        SignerCommand::Approve(arguments) => approve(arguments)?,
        SignerCommand::Withdraw(arguments) => withdraw(arguments)?,
        SignerCommand::Second(SecondArguments { acting, line }) => {
            let (mut register, key, at) = self::acting(acting)?;
            register.second(*line, &key, at)?;
            told(&register, &format!("line {line} takes effect"))?;
        }
        SignerCommand::CorrectClock(CorrectRegisterArguments { acting, reason }) => {
            let (mut register, key, at) = self::acting(acting)?;
            register.correct_clock(reason, &key, at)?;
            told(&register, &format!("the clock is corrected to {at}"))?;
        }
        SignerCommand::Trust(arguments) => trust(arguments)?,
    }
    Ok(Outcome::Clean)
}

pub(crate) fn open(arguments: &RegisterArguments) -> Result<RegisterFile, Box<dyn Error>> {
    let (register, torn) = RegisterFile::open(&arguments.register)?;
    if let Some(torn) = torn {
        output::complain(&torn.to_string());
    }
    Ok(register)
}

fn set_up(arguments: &SetUpArguments) -> Result<(), Box<dyn Error>> {
    let SetUpArguments { register, signer, name, passphrase, clock_is_right } = arguments;
    let signer: SignerId = signer.parse()?;
    let mut file = open(register)?;
    if !file.register().signers().is_empty() {
        return Err("the register exists already; a supervisor enrols others".into());
    }
    let keys = person::keys()?;
    // A set-up that stopped half-way left a key behind; it is used, if it is theirs.
    let key = if keys.path(&signer).exists() {
        person::unlock(&signer, passphrase)?
    } else {
        keys.create(&signer, &person::new_passphrase(passphrase)?, Cost::STRONG)?
    };
    file.found(name, &key, person::stamp_beside(&register.register, *clock_is_right)?)?;
    output::say_line(format_args!(
        "{signer} has created the register {}",
        register.register.display()
    ))?;
    output::say_line(format_args!("fingerprint {}", key.public_key().fingerprint()))?;
    Ok(())
}

fn key(arguments: &KeyArguments) -> Result<(), Box<dyn Error>> {
    let signer: SignerId = arguments.signer.parse()?;
    let passphrase = person::new_passphrase(&arguments.passphrase)?;
    let keys = person::keys()?;
    let key = keys.create(&signer, &passphrase, Cost::STRONG)?;
    for line in key.public_key().to_pem().lines() {
        output::say_line(format_args!("{line}"))?;
    }
    output::complain(&format!(
        "give the lines above, or {}, to a supervisor; fingerprint {}",
        keys.public_path(&signer).display(),
        key.public_key().fingerprint()
    ));
    Ok(())
}

/// The register, the acting supervisor's key, and the time.
pub(crate) fn acting(
    arguments: &ActingArguments,
) -> Result<(RegisterFile, UnlockedKey, Stamp), Box<dyn Error>> {
    let ActingArguments { register, by, passphrase, clock_is_right } = arguments;
    let at = person::stamp_beside(&register.register, *clock_is_right)?;
    person::trust().books_to_write(&register.register)?;
    let file = open(register)?;
    let key = person::unlock(&by.parse()?, passphrase)?;
    Ok((file, key, at))
}

/// Says what was entered, or that it waits.
pub(crate) fn told(register: &RegisterFile, done: &str) -> Result<(), Box<dyn Error>> {
    let path = register.path();
    person::remember(path);
    if register.waits() {
        let line = register.register().len();
        output::say_line(format_args!(
            "line {line} waits for another supervisor, who agrees with: holdtrace signer second \
             --line {line}"
        ))?;
    } else {
        output::say_line(format_args!("{done}"))?;
    }
    Ok(())
}

fn approve(arguments: &ApproveArguments) -> Result<(), Box<dyn Error>> {
    let ApproveArguments { acting: supervisor, plant } = arguments;
    let file = plant::Plant::read(plant)?.file.ok_or("the plant file is empty")?;
    let name = trace::file_name(&file.name).to_owned();
    let sha256 = journal::Digest(file.sha256).to_string();
    let (mut register, key, at) = acting(supervisor)?;
    register.approve_plant_file(&name, &sha256, &key, at)?;
    told(&register, &format!("the plant file {name} is approved, sha256 {sha256}"))
}

fn withdraw(arguments: &WithdrawFileArguments) -> Result<(), Box<dyn Error>> {
    let WithdrawFileArguments { acting: supervisor, plant, sha256, reason } = arguments;
    let read = |path: &PathBuf| -> Result<String, Box<dyn Error>> {
        let file = plant::Plant::read(path)?.file.ok_or("the plant file is empty")?;
        Ok(journal::Digest(file.sha256).to_string())
    };
    let of_file = plant.as_ref().map(read).transpose()?;
    let sha256 = of_file.or_else(|| sha256.clone()).unwrap_or_default();
    let (mut register, key, at) = acting(supervisor)?;
    register.withdraw_plant_file(&sha256, reason, &key, at)?;
    told(&register, &format!("the plant file with sha256 {sha256} no longer counts"))
}

fn trust(arguments: &TrustArguments) -> Result<(), Box<dyn Error>> {
    let TrustArguments { register, plant, fingerprint } = arguments;
    let register = &register.register;
    let plant = plant.clone().or_else(|| ingest::plant_file_beside(register));
    person::trust().accept(register, plant.as_deref(), fingerprint)?;
    output::say_line(format_args!("{} is the plant's register from now on", register.display()))?;
    Ok(())
}

fn passphrase(arguments: &KeyArguments) -> Result<(), Box<dyn Error>> {
    let signer: SignerId = arguments.signer.parse()?;
    let (old, new) = person::old_and_new(&arguments.passphrase, &signer)?;
    person::keys()?.change_passphrase(&signer, &old, &new, Cost::STRONG, person::now())?;
    output::say_line(format_args!("the key of {signer} opens with the new passphrase only"))?;
    Ok(())
}

fn enrol(arguments: &EnrolArguments) -> Result<(), Box<dyn Error>> {
    let EnrolArguments { acting: supervisor, signer, name, role, public_key } = arguments;
    let pem = if public_key == Path::new("-") {
        std::io::read_to_string(std::io::stdin().lock())
    } else {
        disk::read(public_key, PublicKey::LARGEST_FILE, disk::Links::Follow)
            .and_then(|bytes| String::from_utf8(bytes).map_err(std::io::Error::other))
    };
    let pem = pem.map_err(|cause| format!("{}: can't be read ({cause})", public_key.display()))?;
    let enrolment = Enrolment {
        signer: signer.parse()?,
        name: name.clone(),
        role: (*role).into(),
        public_key: PublicKey::from_pem(&pem)?,
    };
    let done = format!("{signer} is enrolled; fingerprint {}", enrolment.public_key.fingerprint());
    let (mut register, key, at) = acting(supervisor)?;
    register.enrol(enrolment, &key, at)?;
    told(&register, &done)
}

fn role(arguments: &RoleArguments) -> Result<(), Box<dyn Error>> {
    let RoleArguments { acting: supervisor, signer, role } = arguments;
    let (mut register, key, at) = acting(supervisor)?;
    let role: Role = (*role).into();
    register.change_role(&signer.parse()?, role, &key, at)?;
    told(&register, &format!("{signer} is a {role} from now on"))
}

fn qualify(arguments: &QualifyArguments) -> Result<(), Box<dyn Error>> {
    let QualifyArguments { acting: supervisor, signer, qualification, on } = arguments;
    let (mut register, key, at) = acting(supervisor)?;
    let (id, text) = (signer.parse()?, qualification.clone());
    register.qualified(Qualification { signer: id, qualification: text, on: *on }, &key, at)?;
    told(&register, &format!("{signer}: {qualification}, {on}"))
}

fn revoke(arguments: &RevokeArguments) -> Result<(), Box<dyn Error>> {
    let RevokeArguments { acting: supervisor, signer, reason } = arguments;
    let (mut register, key, at) = acting(supervisor)?;
    register.revoke(&signer.parse()?, reason, &key, at)?;
    told(&register, &format!("{signer} is revoked from now on"))
}

fn list(arguments: &RegisterArguments) -> Result<(), Box<dyn Error>> {
    let file = open(arguments)?;
    let mut text = Lines::new();
    let path = &arguments.register;
    person::remember(path);
    for signer in file.register().signers() {
        let revoked = signer.revoked().map_or_else(String::new, |at| format!(", revoked {at}"));
        text.line(format_args!(
            "{}  {}, {}, enrolled {}{revoked}",
            signer.id(),
            signer.name(),
            signer.role(),
            signer.enrolled(),
        ));
        text.line(format_args!("    {}", signer.public_key().fingerprint()));
        for one in signer.qualifications() {
            text.line(format_args!("    {}, {}", one.qualification, one.on));
        }
    }
    for one in file.register().plant_files() {
        let second = one.second.as_ref().map_or_else(String::new, |by| format!(" and {by}"));
        let withdrawn = one.withdrawn.map_or_else(String::new, |at| format!(", withdrawn {at}"));
        text.line(format_args!(
            "plant file {}, approved by {}{second} {}{withdrawn}",
            one.name, one.by, one.at
        ));
        text.line(format_args!("    sha256 {}", one.sha256));
    }
    for pending in file.register().pending() {
        text.line(format_args!(
            "line {} waits for another supervisor: {} wants to {}",
            pending.line,
            pending.by,
            pending.in_words()
        ));
    }
    for one in file.register().corrections() {
        text.line(format_args!(
            "line {}: {} corrected the clock to {}: {}",
            one.line, one.by, one.at, one.reason
        ));
    }
    if text.is_empty() {
        text.line(format_args!("nobody is enrolled"));
    }
    output::say(&text)?;
    Ok(())
}

impl From<SignerRole> for Role {
    fn from(role: SignerRole) -> Self {
        match role {
            SignerRole::Operator => Self::Operator,
            SignerRole::Technician => Self::Technician,
            SignerRole::Supervisor => Self::Supervisor,
        }
    }
}
