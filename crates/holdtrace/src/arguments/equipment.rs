//! `holdtrace equipment`.

use super::signer::{ActingArguments, RegisterArguments};
use chrono::NaiveDate;
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// What to do with tests and seals.
#[derive(Debug, Subcommand)]
pub enum EquipmentCommand {
    /// Show the tests and seals of a pasteurizer on a day.
    ///
    /// Exit status 0: every test is current, no seal is broken, and the plant file has the last holding time
    /// test; 1: otherwise; 2: the register can't be read.
    List(EquipmentListArguments),
    /// Enter a test that was done (supervisors).
    Test(TestArguments),
    /// Enter a seal that was applied (supervisors).
    Seal(SealArguments),
    /// Enter a seal that was broken (supervisors). A record of that day can be approved once its
    /// review says what the broken seal means.
    SealBroken(SealBrokenArguments),
}

/// Which pasteurizer, and which day.
#[derive(Debug, Args)]
pub struct EquipmentListArguments {
    #[command(flatten)]
    pub register: RegisterArguments,
    /// The plant file [default: the one beside the register].
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
    /// The pasteurizer [default: that of the plant file].
    #[arg(long, value_name = "NAME")]
    pub unit: Option<String>,
    /// The day [default: today].
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub on: Option<NaiveDate>,
}

/// Which test, and its result.
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("result").required(true))]
pub struct TestArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The pasteurizer.
    #[arg(long, value_name = "NAME")]
    pub unit: String,
    /// Which test, such as flow_diversion_device or holding_time; docs/file-formats.md has them all.
    #[arg(long, value_name = "TEST")]
    pub test: String,
    /// On which day.
    #[arg(long, value_name = "YYYY-MM-DD")]
    pub on: NaiveDate,
    /// It passed.
    #[arg(long, group = "result")]
    pub passed: bool,
    /// It failed.
    #[arg(long, group = "result")]
    pub failed: bool,
    /// The result, with its unit.
    #[arg(long)]
    pub figure: String,
    /// The required value, with its unit.
    #[arg(long)]
    pub limit: String,
    /// Who made it.
    #[arg(long, value_name = "NAME")]
    pub tested_by: String,
}

/// Who acts, by which plant's clock, and on which pasteurizer.
#[derive(Debug, Args)]
pub struct AtPlantArguments {
    #[command(flatten)]
    pub acting: ActingArguments,
    /// The plant file, for its time zone [default: the one beside the register].
    #[arg(long, value_name = "PLANT.toml")]
    pub plant: Option<PathBuf>,
    /// The pasteurizer.
    #[arg(long, value_name = "NAME")]
    pub unit: String,
}

/// Which seal.
#[derive(Debug, Args)]
pub struct SealArguments {
    #[command(flatten)]
    pub at_plant: AtPlantArguments,
    /// What it seals, such as "timing pump".
    #[arg(long)]
    pub part: String,
    /// Its number.
    #[arg(long, value_name = "NUMBER")]
    pub seal: String,
    /// When, such as "2026-03-14 09:00" on the plant's clock.
    #[arg(long, value_name = "TIME")]
    pub at: String,
    /// Who applied it.
    #[arg(long, value_name = "NAME")]
    pub applied_by: String,
}

/// Which seal was broken, and why.
#[derive(Debug, Args)]
pub struct SealBrokenArguments {
    #[command(flatten)]
    pub at_plant: AtPlantArguments,
    /// Its number.
    #[arg(long, value_name = "NUMBER")]
    pub seal: String,
    /// When it was broken, or found broken, such as "2026-03-14 12:00" on the plant's clock.
    #[arg(long, value_name = "TIME")]
    pub at: String,
    /// Who broke or found it.
    #[arg(long, value_name = "NAME")]
    pub broken_by: String,
    /// Why.
    #[arg(long)]
    pub reason: String,
}
