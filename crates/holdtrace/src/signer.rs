//! `holdtrace signer`: keys on this machine, and the plant's register.

use crate::arguments::{
    ActingArguments, EnrolArguments, KeyArguments, RegisterArguments, RevokeArguments,
    RoleArguments, SetUpArguments, SignerCommand, SignerRole,
};
use crate::{Outcome, output, person};
use signers::{Cost, Enrolment, PublicKey, RegisterFile, Role, SignerId, UnlockedKey};
use std::error::Error;
use std::fmt::Write as _;
use std::path::Path;

/// Runs the command.
///
/// # Errors
/// When a key or the register can't be used, or the register's rules refuse.
pub fn run(command: &SignerCommand) -> Result<Outcome, Box<dyn Error>> {
    match command {
        SignerCommand::SetUp(arguments) => set_up(arguments)?,
        SignerCommand::Key(arguments) => key(arguments)?,
        SignerCommand::Enrol(arguments) => enrol(arguments)?,
        SignerCommand::Role(arguments) => role(arguments)?,
        SignerCommand::Revoke(arguments) => revoke(arguments)?,
        SignerCommand::List(arguments) => list(arguments)?,
    }
    Ok(Outcome::Clean)
}

fn open(arguments: &RegisterArguments) -> Result<RegisterFile, Box<dyn Error>> {
    let (register, torn) = RegisterFile::open(&arguments.register)?;
    if let Some(torn) = torn {
        output::complain(&torn.to_string());
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
    let passphrase = person::passphrase(passphrase, "New passphrase: ")?;
    let keys = person::keys()?;
    // A set-up that stopped half-way left a key behind; it is used, if it is theirs.
    let key = if keys.path(&signer).exists() {
        keys.unlock(&signer, &passphrase, person::now())?
    } else {
        keys.create(&signer, &passphrase, Cost::STRONG)?
    };
    file.found(name, &key, person::local_stamp()?)?;
    output::say(&format!(
        "{} begins the register {}\nfingerprint {}\n",
        signer,
        register.register.display(),
        key.public_key().fingerprint()
    ))?;
    Ok(())
}

fn key(arguments: &KeyArguments) -> Result<(), Box<dyn Error>> {
    let signer: SignerId = arguments.signer.parse()?;
    let passphrase = person::passphrase(&arguments.passphrase, "New passphrase: ")?;
    let keys = person::keys()?;
    let key = keys.create(&signer, &passphrase, Cost::STRONG)?;
    output::say(&key.public_key().to_pem())?;
    output::complain(&format!(
        "give the lines above, or {}, to a supervisor; fingerprint {}",
        keys.public_path(&signer).display(),
        key.public_key().fingerprint()
    ));
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
    let told =
        format!("{signer} is enrolled; fingerprint {}\n", enrolment.public_key.fingerprint());
    let (mut register, key) = acting(supervisor)?;
    register.enrol(enrolment, &key, person::local_stamp()?)?;
    output::say(&told)?;
    Ok(())
}

fn role(arguments: &RoleArguments) -> Result<(), Box<dyn Error>> {
    let RoleArguments { acting: supervisor, signer, role } = arguments;
    let (mut register, key) = acting(supervisor)?;
    let role: Role = (*role).into();
    register.change_role(&signer.parse()?, role, &key, person::local_stamp()?)?;
    output::say(&format!("{signer} is a {role} from now on\n"))?;
    Ok(())
}

fn revoke(arguments: &RevokeArguments) -> Result<(), Box<dyn Error>> {
    let RevokeArguments { acting: supervisor, signer, reason } = arguments;
    let (mut register, key) = acting(supervisor)?;
    register.revoke(&signer.parse()?, reason, &key, person::local_stamp()?)?;
    output::say(&format!("{signer} is revoked from now on\n"))?;
    Ok(())
}

fn list(arguments: &RegisterArguments) -> Result<(), Box<dyn Error>> {
    let file = open(arguments)?;
    let mut text = String::new();
    for signer in file.register().signers() {
        let revoked = signer.revoked().map_or_else(String::new, |at| format!(", revoked {at}"));
        writeln!(
            text,
            "{}  {}, {}, enrolled {}{revoked}\n    {}",
            signer.id(),
            signer.name(),
            signer.role(),
            signer.enrolled(),
            signer.public_key().fingerprint()
        )?;
    }
    if text.is_empty() {
        text.push_str("nobody is enrolled\n");
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
