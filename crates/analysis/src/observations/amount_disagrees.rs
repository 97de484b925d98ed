//! What was metered in forward flow in a run of the sheet is too far from the quantity that was written.

use super::look::{Found, Look};
use trace::{Decimal, Definition, FigureKind, Rank, Role, SourcePosition, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "amount_disagrees",
    title: "amounts of meter and run sheet differ",
    rank: Rank::Close,
    figures: &[
        ("difference", FigureKind::Percent),
        ("limit", FigureKind::Percent),
        ("lot", FigureKind::Word),
        ("metered", FigureKind::Volume),
        ("product", FigureKind::Word),
        ("stated", FigureKind::Volume),
        ("tank", FigureKind::Word),
    ],
    sentence: "{product}[, lot {lot}][, tank {tank}]: {metered} metered in forward flow, {stated} on \
               the run sheet[, {difference} apart; more than {limit}]. Find out where the difference \
               went, or correct whichever is wrong",
    about: &[Role::FlowRate],
    why: "What has to be held after an exception is found by these amounts, so product that is \
          unaccounted for may be missed.",
    what_to_do: "Compare tank levels, meter and run sheet. Correct the sheet if it is wrong, and \
                 write down where the difference went.",
    source: "3 %: common practice; a plant may set another figure",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let record = look.context.record;
    let Some(sheet) = record.run_sheet() else { return };
    let limit = look.context.plant.amount_limit();
    for run in look.amounts.runs.iter().filter(|run| run.is_beyond(limit)) {
        let (Ok(metered), Some((stated, unit))) = (run.metered, run.stated) else { continue };
        found.add(run.interval, 1, |mut one| {
            one.position = Some(SourcePosition { file: sheet.file().clone(), line: run.line });
            let tenths = |value: f64| Decimal::new(value as i64, 1);
            let mut one = one
                .with("product", Value::Word(run.product.clone()))
                .with("metered", Value::Volume(tenths((metered * 10.0).round()), run.unit))
                .with("stated", Value::Volume(stated, unit))
                .with("limit", Value::Percent(limit));
            // Of nothing there is no percentage.
            if let Some(apart) = run.percent_apart().filter(|apart| apart.is_finite()) {
                one = one.with("difference", Value::Percent(tenths((apart * 10.0).ceil())));
            }
            let written = |word: &String| Some(word.clone()).filter(|word| !word.is_empty());
            one.with_words("lot", written(&run.lot)).with_words("tank", written(&run.tank))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};
    use trace::Decimal;

    /// Ten seconds at half a gallon.
    fn told(stated: &str) -> Vec<String> {
        observed(&specimen(stated).audit(), "amount_disagrees")
    }

    fn specimen(stated: &str) -> Specimen {
        let day = day("F*11").flow("30").product("milk");
        day.run((0, 10_000), "milk", "A", "T1").stated(stated)
    }

    #[test]
    fn more_than_three_percent_is_told_with_both_figures() {
        assert_eq!(
            told("5.2"),
            ["0..10000 n=1 product=\"milk\" metered=5.0 gal stated=5.2 gal limit=3 % difference=3.9 % \
              lot=\"A\" tank=\"T1\""]
        );
        assert_eq!(told("4.8").len(), 1);
        for near in ["4.86", "5", "5.15"] {
            assert_eq!(told(near), [""; 0], "{near}");
        }
        // Of nothing there is no percentage.
        assert_eq!(
            told("0"),
            ["0..10000 n=1 product=\"milk\" metered=5.0 gal stated=0 gal limit=3 % lot=\"A\" tank=\"T1\""]
        );
    }

    #[test]
    fn a_plant_may_set_another_figure() {
        let of = |tenths: i64| {
            let day = specimen("5.2");
            let day = day.set(|plant| plant.amount_tolerance = Some(Decimal::new(tenths, 1)));
            observed(&day.audit(), "amount_disagrees").len()
        };
        assert_eq!((of(38), of(39)), (1, 0));
    }

    /// What can't be compared is listed as such, and nothing is observed that is not known.
    #[test]
    fn what_is_not_metered_throughout_is_not_compared() {
        let day = day("F*11").product("milk").run((0, 10_000), "milk", "A", "T1").stated("99");
        let audit = day.audit();
        assert_eq!(observed(&audit, "amount_disagrees"), [""; 0]);
        assert!(audit.amounts.runs.iter().all(|run| run.metered.is_err()));
    }
}
