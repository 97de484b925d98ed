//! `holdtrace signer`: keys on this machine, and the plant's register.

use crate::arguments::{
    ActingArguments, EnrolArguments, KeyArguments, RegisterArguments, RevokeArguments,
    RoleArguments, SetUpArguments, SignerCommand, SignerRole,
};
use crate::{Outcome, output, person};
use signers::{Cost, Enrolment, PublicKey, RegisterFile, Role, SignerId, UnlockedKey};
use std::error::Error;
use std::path::Path;
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
        SignerCommand::Revoke(arguments) => revoke(arguments)?,
        SignerCommand::List(arguments) => list(arguments)?,
    }
    Ok(Outcome::Clean)
}

fn open(arguments: &RegisterArguments) -> Result<RegisterFile, Box<dyn Error>> {
    let (register, aside) = RegisterFile::open(&arguments.register)?;
    if let Some(aside) = aside {
        output::complain(&format!(
            "the last line of the register was torn; it was set aside as {}",
            aside.display()
        ));
    }
    Ok(register)
}

fn set_up(arguments: &SetUpArguments) -> Result<(), Box<dyn Error>> {
    let SetUpArguments { register, signer, name, passphrase } = arguments;
    let signer: SignerId = signer.parse()?;
    let mut file = open(register)?;
    if !file.register().signers().is_empty() {
        return Err("the register has begun already; a supervisor enrols others".into());
    }
    let keys = person::keys()?;
    // A set-up that stopped half-way left a key behind; it is used, if it is theirs.
    let key = if keys.path(&signer).exists() {
        person::unlock(&signer, passphrase)?
    } else {
        keys.create(&signer, &person::new_passphrase(passphrase)?, Cost::STRONG)?
    };
    file.found(name, &key, person::local_stamp()?)?;
    output::say_line(format_args!("{signer} begins the register {}", register.register.display()))?;
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

fn passphrase(arguments: &KeyArguments) -> Result<(), Box<dyn Error>> {
    let signer: SignerId = arguments.signer.parse()?;
    let (old, new) = person::old_and_new(&arguments.passphrase, &signer)?;
    person::keys()?.change_passphrase(&signer, &old, &new, Cost::STRONG, person::now())?;
    output::say_line(format_args!("the key of {signer} opens with the new passphrase only"))?;
    Ok(())
}

/// The register, and the acting supervisor's key.
fn acting(arguments: &ActingArguments) -> Result<(RegisterFile, UnlockedKey), Box<dyn Error>> {
    let register = open(&arguments.register)?;
    let key = person::unlock(&arguments.by.parse()?, &arguments.passphrase)?;
    Ok((register, key))
}

fn enrol(arguments: &EnrolArguments) -> Result<(), Box<dyn Error>> {
    let EnrolArguments { acting: supervisor, signer, name, role, public_key } = arguments;
    let pem = if public_key == Path::new("-") {
        std::io::read_to_string(std::io::stdin().lock())
    } else {
        std::fs::read_to_string(public_key)
    };
    let pem = pem.map_err(|cause| format!("{}: can't be read ({cause})", public_key.display()))?;
    let enrolment = Enrolment {
        signer: signer.parse()?,
        name: name.clone(),
        role: (*role).into(),
        public_key: PublicKey::from_pem(&pem)?,
    };
    let fingerprint = enrolment.public_key.fingerprint();
    let (mut register, key) = acting(supervisor)?;
    register.enrol(enrolment, &key, person::local_stamp()?)?;
    output::say_line(format_args!("{signer} is enrolled; fingerprint {fingerprint}"))?;
    Ok(())
}

fn role(arguments: &RoleArguments) -> Result<(), Box<dyn Error>> {
    let RoleArguments { acting: supervisor, signer, role } = arguments;
    let (mut register, key) = acting(supervisor)?;
    let role: Role = (*role).into();
    register.change_role(&signer.parse()?, role, &key, person::local_stamp()?)?;
    output::say_line(format_args!("{signer} is a {role} from now on"))?;
    Ok(())
}

fn revoke(arguments: &RevokeArguments) -> Result<(), Box<dyn Error>> {
    let RevokeArguments { acting: supervisor, signer, reason } = arguments;
    let (mut register, key) = acting(supervisor)?;
    register.revoke(&signer.parse()?, reason, &key, person::local_stamp()?)?;
    output::say_line(format_args!("{signer} is revoked from now on"))?;
    Ok(())
}

fn list(arguments: &RegisterArguments) -> Result<(), Box<dyn Error>> {
    let file = open(arguments)?;
    let mut text = Lines::new();
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
            SignerRole::Technician => Self::Technician,
            SignerRole::Supervisor => Self::Supervisor,
        }
    }
}
