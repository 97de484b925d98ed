//! Residence time and Reynolds number against general-purpose libraries: SciPy's quadrature and
//! root finding, CoolProp's water. The tables and the script that made them are in
//! `tests/reference`.

use analysis::audit;
use plant::{Certificate, Flow, Geometry, Plant, Tube};
use tests::good;
use trace::{
    Channel, Decimal, Differential, Duration, FlowUnit, Instant, PressureUnit, Reading, RunRecord,
    RunRecordParts, TemperatureUnit, Toward, ValveState,
};

/// A row of a reference table, cell by cell.
fn rows(table: &str) -> Vec<Vec<String>> {
    table.lines().skip(1).map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|error| panic!("{cell}: {error}"))
}

/// A flow by its formula in `make_references.py`, in L/h at a tenth of a second.
fn flow(name: &str, tenths: i64) -> f64 {
    let seconds = tenths as f64 / 10.0;
    match name {
        "constant" => 6123.0,
        "ramp" => 5000.0 + 20.0 * seconds,
        "step" => 5500.0 + 1000.0 * ((seconds - 39.9) / 0.1).clamp(0.0, 1.0),
        "sine" => 6000.0 + 400.0 * (std::f64::consts::TAU * seconds / 60.0).sin(),
        other => panic!("no flow {other}"),
    }
}

/// Two minutes at 10 Hz, all safe but perhaps the time.
fn record(name: &str) -> RunRecord {
    let range = (Decimal::ZERO, Decimal::whole(200_000));
    let mut rates = Channel::new(FlowUnit::LitrePerHour, range, Toward::Up);
    let mut temperature = Channel::new(TemperatureUnit::Celsius, range, Toward::Down);
    let mut differential = Channel::new(PressureUnit::Kilopascal, range, Toward::Down);
    let mut instants = Vec::new();
    for tenths in 0..1200 {
        let micro = (flow(name, tenths) * 1e6).round() as i64;
        rates.push(Reading::Valid(Decimal::new(micro, 6)));
        temperature.push(Reading::Valid(Decimal::whole(74)));
        differential.push(Reading::Valid(Decimal::whole(30)));
        instants.push(Instant::from_unix_milliseconds(tenths * 100));
    }
    let valve = vec![ValveState::Forward; instants.len()];
    let differential = Differential::Direct(differential);
    let mut parts = RunRecordParts::needed("unit", instants, valve, temperature, differential);
    parts.flow_rate = Some(rates);
    good(RunRecord::new(parts))
}

/// SciPy 1.17.1, `integrate.quad` and `optimize.brentq`.
#[test]
fn residence_time_against_scipy() {
    let certificate = Certificate {
        test_flow: Flow { value: Decimal::whole(6000), unit: FlowUnit::LitrePerHour },
        test_time: Duration::from_milliseconds(16_200),
        tested_on: None,
        tested_by: None,
    };
    let mut plant = Plant { tube: Some(Tube::Certified(certificate)), ..Plant::assumed() };
    // A made-up line whose temperature stands still; only the time is looked at.
    plant.limits.repeated_after = Duration::from_seconds(3600);
    let table = rows(include_str!("../reference/residence.csv"));
    assert_eq!(table.len(), 36, "four flows at nine instants");
    for row in table {
        let [name, leaves, residence] = row.as_slice() else { panic!("three cells: {row:?}") };
        let audit = audit(&record(name), &plant, Vec::new());
        let sample = (number(leaves) * 10.0).round() as usize;
        let found = audit.residence.as_ref().and_then(|residence| residence.at(sample));
        let found = found.map_or(f64::NAN, Duration::seconds);
        assert!((found - number(residence)).abs() <= 0.001, "{row:?}: {found}");
    }
}

/// CoolProp 8.0.0, water at 3 bar.
#[test]
fn reynolds_number_against_coolprop() {
    let table = rows(include_str!("../reference/water.csv"));
    assert_eq!(table.len(), 15, "three tubes at five temperatures");
    for row in table {
        let [_, flow, diameter, density, viscosity, reynolds] = row.as_slice() else {
            panic!("six cells: {row:?}")
        };
        let tube = Geometry {
            length_metres: 10.0,
            inner_diameter_metres: number(diameter) / 1000.0,
            density_kilograms_per_cubic_metre: number(density),
            viscosity_pascal_seconds: number(viscosity) / 1000.0,
        };
        let found = tube.reynolds(number(flow));
        let expected = number(reynolds);
        assert!((found / expected - 1.0).abs() < 1e-6, "{row:?}: {found}");
    }
}
