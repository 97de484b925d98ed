//! Days that show whether an audit asks for proof.
//!
//! On most of them milk may have gone unsafe and a record that is believed too easily says nothing
//! of it; on the others nothing is wrong and an audit that suspects too easily raises alarms. Each day
//! is made when it is asked for, and says what must be said of it, with the section of the method
//! that says so. Nobody would open them by hand, so they are not among the sample runs.
//!
//! One idea a file. The line is played by the model; what the logger and its people do to the
//! readings is done to the rows behind it.

mod amounts;
mod blank_position;
mod chattering_device;
mod clean_hour;
mod cleaning;
mod cleanings;
mod clock_set_back;
mod day;
mod drifting_thermometer;
mod equipment;
mod expect;
mod flow_signal_lost;
mod garbled_stamps;
mod log_on_change;
mod logger_hung;
mod low_recorder;
mod minute_averages;
mod open_thermometer;
mod plant_bounds;
mod proof_day;
mod quiet_night;
mod recorder_noise;
mod recorder_too;
mod repeated_rows;
mod run_sheet_says_cream;
mod slow_travel;
mod small_exception;
mod spring_hour;
mod stops;
mod unknown_products;

pub(crate) use day::replaced;
pub use expect::{Answer, Expected, Must};
pub use proof_day::{ProofDay, ProofFile};

use crate::error::Error;

/// Makes a day.
pub type Make = fn() -> Result<ProofDay, Error>;

/// All days: each name, and what makes it.
pub const PROOF_DAYS: &[(&str, Make)] = &[
    ("a_clean_hour", clean_hour::day),
    // Milk may have gone unsafe.
    ("the_logger_hung_while_diverted", logger_hung::day),
    ("the_flow_meter_lost_its_signal", flow_signal_lost::day),
    ("a_device_that_chatters_with_milk_at_150", chattering_device::day),
    ("one_forward_sample_and_slow_travel", slow_travel::day),
    ("an_open_thermometer", open_thermometer::day),
    ("a_recorder_below_the_thermometer_all_day", low_recorder::day),
    ("a_recorder_that_has_to_show_the_limit_too", recorder_too::day),
    ("a_holding_temperature_of_the_recorder", recorder_too::only_the_recorder),
    ("a_drift_that_the_recorder_shows", drifting_thermometer::against_the_recorder),
    ("a_drift_that_the_heating_water_shows", drifting_thermometer::against_the_heating_water),
    ("every_channel_repeated_for_590_s", repeated_rows::day),
    ("one_minute_averages_over_a_dip", minute_averages::day),
    ("a_spring_hour_that_does_not_exist", spring_hour::local_clock),
    ("a_spring_hour_on_a_standard_clock", spring_hour::standard_clock),
    ("two_garbled_stamps_over_a_dip", garbled_stamps::day),
    ("a_blank_position_at_twice_the_flow", blank_position::day),
    ("a_clock_set_back_by_seven_minutes", clock_set_back::day),
    ("a_plant_file_with_150_degrees_for_1_s", plant_bounds::temperature),
    ("a_plant_file_with_minus_50_psi", plant_bounds::differential),
    ("a_plant_file_with_a_gap_limit_of_2_h", plant_bounds::gap),
    ("a_plant_file_with_a_tube_factor_of_2", plant_bounds::factor),
    ("one_column_in_two_roles", plant_bounds::two_roles),
    ("a_header_in_fahrenheit_bound_as_celsius", plant_bounds::unit),
    ("a_limit_beyond_its_bound_that_was_accepted", plant_bounds::accepted),
    ("chocolate_milk_in_a_plant_of_milk", unknown_products::chocolate_milk),
    ("eggnog_without_a_plant_file", unknown_products::eggnog),
    ("a_run_sheet_that_says_cream", run_sheet_says_cream::day),
    ("a_small_exception_names_lot_and_tank", small_exception::day),
    ("a_run_sheet_that_does_not_add_up", amounts::apart),
    ("a_cleaning_that_was_left_out", cleanings::left_out),
    ("a_cleaning_that_got_cold", cleanings::too_cold),
    ("a_cleaning_by_name_only", cleanings::by_name),
    ("a_cleaning_that_goes_on_after_the_record", cleanings::across_the_ends),
    ("a_cleaning_without_a_mode", cleanings::without_a_mode),
    // Nothing is wrong, or one thing.
    ("a_divert_without_a_cause", stops::without_cause),
    ("pumps_alarms_and_media_in_order", equipment::quiet),
    ("an_alarm_and_a_medium_out_of_turn", equipment::out_of_turn),
    ("a_stop_for_lunch", stops::lunch),
    ("a_product_change_by_hand", stops::product_change),
    ("a_cleaning_between_two_runs", cleanings::between_two_runs),
    ("a_run_sheet_that_adds_up", amounts::alike),
    ("a_run_sheet_that_reaches_out_of_the_record", amounts::not_compared),
    ("a_quiet_night_with_the_pumps_off", quiet_night::day),
    ("a_cleaning_is_one_bundle", cleaning::day),
    ("a_cleaning_that_ran_milk", cleaning::with_milk),
    ("a_log_on_change", log_on_change::day),
    ("a_recorder_as_high_as_the_thermometer", recorder_noise::noise),
    ("a_recorder_above_the_thermometer", recorder_noise::above),
];

/// Makes one day.
///
/// # Errors
/// As [`proof_days`], and when there is none of that name.
pub fn proof_day(name: &str) -> Result<ProofDay, Error> {
    match PROOF_DAYS.iter().find(|(known, _)| *known == name) {
        Some((_, make)) => make(),
        None => Err(day::missing(format!("a day {name:?}"))),
    }
}

/// Makes every day.
///
/// # Errors
/// When the model can't play one, or what a day is made from is no longer there.
pub fn proof_days() -> Result<Vec<ProofDay>, Error> {
    PROOF_DAYS.iter().map(|(_, make)| make()).collect()
}
