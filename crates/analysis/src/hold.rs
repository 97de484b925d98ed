//! What to hold: the lots and tanks that took what passed (method, section 10). What passed went
//! into a tank, so the whole tank is named and never only the quantity that passed.

use crate::context::Distinct;
use crate::exception::Exception;

/// The lots and tanks to hold.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Hold {
    /// The lots, in order of time.
    pub lots: Vec<String>,
    /// The tanks of the run sheet, in order of time.
    pub tanks: Vec<String>,
    /// How many exceptions the record gives neither lot nor tank for.
    pub unnamed: usize,
}

/// Of all exceptions but those outside production.
pub(crate) fn hold(exceptions: &[Exception]) -> Hold {
    let (mut lots, mut tanks) = (Distinct::default(), Distinct::default());
    let mut unnamed = 0;
    for exception in exceptions.iter().filter(|one| !one.outside_production) {
        exception.lots.iter().for_each(|lot| lots.add(lot));
        exception.tanks.iter().for_each(|tank| tanks.add(tank));
        unnamed += usize::from(exception.lots.is_empty() && exception.tanks.is_empty());
    }
    Hold { lots: lots.words, tanks: tanks.words, unnamed }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, day, span};

    fn hold_of(specimen: Specimen) -> Hold {
        specimen.audit().hold
    }

    fn hold(lots: &[&str], tanks: &[&str], unnamed: usize) -> Hold {
        let owned = |words: &[&str]| words.iter().map(|&word| word.to_owned()).collect();
        Hold { lots: owned(lots), tanks: owned(tanks), unnamed }
    }

    #[test]
    fn a_quiet_day_holds_nothing() {
        assert_eq!(hold_of(day("F*4").lot("A").run((0, 9000), "milk", "A", "T1")), Hold::default());
    }

    /// Cold at samples 1 and 2 (lots B and C), 4 and 6 (lot B): each once, in order of time. Up to
    /// sample 1 it was lot A that passed, and the milk was cold before the sample was read.
    #[test]
    fn each_lot_and_tank_once_in_order_of_time() {
        let day = day("F*8")
            .holding("165 150*2 165 150 165 150 165")
            .lot("A B C A B")
            .run((0, 2000), "milk", "", "T1")
            .run((2000, 9000), "milk", "", "T2");
        assert_eq!(hold_of(day), hold(&["A", "B", "C"], &["T1", "T2"], 0));
    }

    /// The tank changes between the last cold sample (2) and the next (3): some of it may have gone
    /// to the next tank. A run that ends at the sample before has none of it.
    #[test]
    fn a_tank_that_the_outer_interval_touches_is_held() {
        let day = |from: i64| {
            day("F*5")
                .holding("165 165 150 165 165")
                .run((0, 1000), "milk", "", "T1")
                .run((1000, from), "milk", "", "T2")
                .run((from, 9000), "milk", "", "T3")
        };
        assert_eq!(hold_of(day(2500)), hold(&[], &["T2", "T3"], 0));
        assert_eq!(hold_of(day(3000)), hold(&[], &["T2"], 0));
    }

    /// Logger and sheet write the lot each in its own way: both are held.
    #[test]
    fn the_lots_of_logger_and_sheet_are_both_held() {
        let day = day("F*3").holding("165 150 165").lot("A-1").run((0, 9000), "milk", "A1", "");
        assert_eq!(hold_of(day), hold(&["A-1", "A1"], &[], 0));
    }

    /// What lot it was is not known: it is counted, and not forgotten.
    #[test]
    fn an_exception_without_lot_and_tank_is_counted() {
        assert_eq!(hold_of(day("F*5").holding("165 150 165 150 165")), hold(&[], &[], 2));
    }

    #[test]
    fn what_lies_outside_production_is_not_held() {
        let day = || day("F*8").holding("165*3 150 165").lot("A");
        assert_eq!(hold_of(day().mode("cip")), Hold::default());
        assert_eq!(hold_of(day()), hold(&["A"], &[], 0));
    }

    /// Lot B stands only in a row whose stamp can't be read.
    #[test]
    fn a_lot_of_rows_without_a_place_is_held() {
        let day = day("F*4").unplaced(span(1000, 2000), &[("F", "150", "5", "")]).unplaced_lot("B");
        assert_eq!(hold_of(day), hold(&["B"], &[], 0));
    }

    /// The samples on both sides of the hole are of lots A and C; the sheet says that B ran in it.
    #[test]
    fn a_lot_that_ran_wholly_in_a_hole_is_held() {
        let day = day("F*4")
            .step(1, 3_600_000)
            .run((0, 1001), "milk", "A", "T1")
            .run((1_000_000, 2_000_000), "milk", "B", "T2")
            .run((3_000_000, 9_000_000), "milk", "C", "T3");
        assert_eq!(hold_of(day), hold(&["A", "B", "C"], &["T1", "T2", "T3"], 0));
    }
}
