use super::*;

const FILE: &str = "# The plant. All of it is invented.
schema = 1
plant = \"Example Dairy (invented)\"   # as on the sign
unit = \"HTST-1\"
zone = \"America/Chicago\"

[columns]
time = \"Time\"
valve = { column = \"FDD\", forward = [\"FWD\"], divert = [\"DIV\"] }   # words of the logger

# Water has no limit of its own.
[[products]]
name = \"water\"
row = \"us-milk-15s\"

[[products]]
name = \"cream\"
row = \"us-rich-15s\"

[tube]
test_flow = \"50 gal/min\"
test_time = \"16.5 s\"
";

fn edit(text: &str) -> Edit {
    match Edit::of("plant.toml", text) {
        Ok(edit) => edit,
        Err(error) => panic!("{error}"),
    }
}

fn at(table: &'static str, key: &'static str) -> Place {
    Place { table, index: None, key }
}

fn nth(table: &'static str, index: usize, key: &'static str) -> Place {
    Place { table, index: Some(index), key }
}

fn changed(edit: &Edit) -> Vec<String> {
    let lines = edit.difference().into_iter().filter_map(|line| match line {
        Line::Gone(text) => Some(format!("-{text}")),
        Line::New(text) => Some(format!("+{text}")),
        Line::Same(_) | Line::Apart => None,
    });
    lines.collect()
}

#[test]
fn what_is_not_said_stays_byte_for_byte() {
    let mut edit = edit(FILE);
    assert_eq!(edit.text(), FILE);
    assert!(edit.difference().is_empty());
    edit.say(at("", "plant"), Kind::Text, "Other Dairy (invented)");
    assert_eq!(
        changed(&edit),
        [
            "-plant = \"Example Dairy (invented)\"   # as on the sign",
            "+plant = \"Other Dairy (invented)\"   # as on the sign",
        ]
    );
    edit.say(at("", "plant"), Kind::Text, "Example Dairy (invented)");
    assert_eq!(edit.text(), FILE);
}

#[test]
fn a_field_that_is_emptied_and_filled_again_keeps_its_place() {
    let mut edit = edit(FILE);
    edit.say(at("", "plant"), Kind::Text, "");
    assert_eq!(edit.said(at("", "plant")), None);
    assert!(changed(&edit).iter().all(|line| line.starts_with('-')));
    edit.say(at("", "plant"), Kind::Text, "Example Dairy (invented)");
    assert_eq!(edit.text(), FILE);
}

#[test]
fn a_table_of_which_nothing_is_left_goes_and_comes_back() {
    let mut edit = edit(FILE);
    for key in ["test_flow", "test_time"] {
        edit.say(at("tube", key), Kind::Text, "");
    }
    assert!(
        !edit.text().contains("[tube]") && edit.plant().is_ok_and(|plant| plant.tube.is_none())
    );
    edit.say(at("tube", "test_flow"), Kind::Text, "40 gal/min");
    let fault = edit.plant().err();
    assert_eq!(fault.map(|fault| fault.place), Some(None), "the two go together");
    edit.say(at("tube", "test_time"), Kind::Text, "20 s");
    assert!(edit.plant().is_ok_and(|plant| plant.tube.is_some()));
    edit.say(at("limits", "response"), Kind::Text, "500 ms");
    assert!(edit.text().ends_with("\n\n[limits]\nresponse = \"500 ms\"\n"), "{}", edit.text());
}

#[test]
fn what_is_bound_to_a_column_stands_within_braces() {
    let mut edit = edit(FILE);
    edit.say(at("columns.lot", "column"), Kind::Column, "Lot no.");
    edit.say(at("columns.valve", "travel"), Kind::Words, "TRV\n \nMOVING\n");
    edit.say(at("columns.holding_temperature", "column"), Kind::Column, "TT");
    edit.say(at("columns.holding_temperature", "unit"), Kind::Column, "degF");
    edit.say(at("columns.holding_temperature", "range"), Kind::Range, "32 to 230");
    let text = edit.text();
    for line in [
        "lot = { column = \"Lot no.\" }",
        "travel = [\"TRV\", \"MOVING\"] }   # words of the logger",
        "holding_temperature = { column = \"TT\", unit = \"degF\", range = [\"32\", \"230\"] }",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
    let range = at("columns.holding_temperature", "range");
    assert_eq!(edit.said(range).as_deref(), Some("32\n230"));
    edit.say(range, Kind::Range, "230 to 32");
    assert_eq!(edit.plant().err().and_then(|fault| fault.place), Some(range));
    for key in ["column", "unit", "range"] {
        edit.say(at("columns.holding_temperature", key), Kind::Text, "");
    }
    assert!(!edit.text().contains("holding_temperature"));
}

#[test]
fn products_come_and_go_each_with_its_faults() {
    let mut edit = edit(FILE);
    let index = edit.add("products");
    assert_eq!(index, 2);
    edit.say(nth("products", 2, "name"), Kind::Text, "whole milk");
    edit.say(nth("products", 2, "row"), Kind::Text, "us-milk-16s");
    let fault = edit.plant().err();
    assert_eq!(fault.as_ref().and_then(|fault| fault.place), Some(nth("products", 2, "row")));
    assert!(fault.is_some_and(|fault| fault.message.starts_with("is no built-in row")));
    edit.say(nth("products", 2, "row"), Kind::Text, "us-milk-15s");
    // What was emptied of one is not emptied of another when a third goes.
    edit.say(nth("products", 1, "row"), Kind::Text, "");
    edit.remove("products", 0);
    assert_eq!(edit.said(nth("products", 0, "name")).as_deref(), Some("cream"));
    assert_eq!(edit.said(nth("products", 0, "row")), None);
    assert_eq!(edit.said(nth("products", 1, "row")).as_deref(), Some("us-milk-15s"));
    edit.remove("products", 0);
    assert!(edit.plant().is_ok_and(|plant| plant.products.iter().count() == 1));
    edit.remove("products", 0);
    edit.remove("products", 0);
    assert!(!edit.text().contains("products") && edit.plant().is_ok());
}

#[test]
fn a_limit_beyond_its_bound_is_told_at_its_field() {
    let mut edit = edit(FILE);
    edit.say(at("limits", "gap"), Kind::Text, "60 s");
    let fault = edit.plant().err();
    assert_eq!(fault.as_ref().and_then(|fault| fault.place), Some(at("limits", "gap")));
    assert!(fault.is_some_and(|fault| fault.message.contains("beyond its bound")));
}

#[test]
fn what_has_the_wrong_type_is_told_at_its_field() {
    let mut edit = edit(&format!("{FILE}\n[review]\nwithin_working_days = 7\n"));
    let days = at("review", "within_working_days");
    edit.say(days, Kind::Whole, "seven");
    assert_eq!(edit.plant().err().and_then(|fault| fault.place), Some(days));
    edit.say(days, Kind::Whole, "5");
    assert!(edit.text().ends_with("within_working_days = 5\n"));
    edit.say(at("review", "same_person_may_approve"), Kind::Switch, "true");
    assert!(edit.plant().is_ok_and(|plant| plant.review.same_person_may_approve));
}

#[test]
fn tables_within_brackets_are_reached_as_those_under_headings() {
    let text = FILE.split("# Water").next().unwrap_or_default();
    let text = text.replace(
        "\n[columns]",
        "products = [{ name = \"water\", row = \"us-milk-15s\" }]\n\n[columns]",
    );
    let mut edit = edit(&text);
    assert_eq!(edit.said(nth("products", 0, "name")).as_deref(), Some("water"));
    edit.say(nth("products", 0, "row"), Kind::Text, "us-rich-15s");
    let index = edit.add("products");
    edit.say(nth("products", index, "name"), Kind::Text, "milk");
    edit.say(nth("products", index, "row"), Kind::Text, "us-milk-15s");
    assert!(edit.plant().is_ok_and(|plant| plant.products.iter().count() == 2), "{}", edit.text());
}

#[test]
fn what_is_not_toml_is_refused_with_its_place() {
    let error = Edit::of("plant.toml", "schema = 1\nplant = \"P\n").err();
    let message = error.map(|error| error.to_string()).unwrap_or_default();
    assert!(message.starts_with("plant.toml:2:"), "{message}");
}

#[test]
fn line_ends_stay_as_they_were() {
    let windows = FILE.replace('\n', "\r\n");
    let mut edit = edit(&windows);
    assert!(edit.difference().is_empty());
    assert_eq!(edit.bytes(), windows.as_bytes());
    edit.say(at("", "unit"), Kind::Text, "HTST-2");
    assert_eq!(changed(&edit).len(), 2);
    let wanted = windows.replace("HTST-1", "HTST-2");
    assert_eq!(edit.bytes(), wanted.as_bytes());
}

/// Every key of the examples of a plant file has a field, but for the version of the format.
#[test]
fn every_key_of_a_plant_file_has_a_field() {
    let page = include_str!("../../../../docs/file-formats.md");
    let examples = page.split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next());
    let mut seen = 0;
    for example in examples {
        let mut edit = edit(example);
        assert_eq!(edit.text(), example);
        let places: Vec<(Place, Kind)> = edit.places().collect();
        for (place, kind) in places {
            seen += usize::from(edit.said(place).is_some());
            edit.say(place, kind, "");
        }
        let said = edit.text();
        let left: toml::Table = said.parse().unwrap_or_default();
        for (key, value) in left {
            let lists = value.as_array().map(Vec::as_slice).unwrap_or_default();
            let is_empty = |one: &toml::Value| one.as_table().is_some_and(toml::Table::is_empty);
            let is_list = !lists.is_empty() && lists.iter().all(is_empty);
            assert!(is_list || key == "schema", "{key} has no field: {said}");
        }
    }
    assert!(seen > 100, "{seen}");
}

#[test]
fn each_limit_says_what_holds_without_it() {
    let limits =
        SECTIONS.iter().flat_map(|section| section.groups).find(|one| one.table == "limits");
    let hint = |key: &str| {
        let group = limits?;
        let field = group.fields.iter().find(|field| field.key == key)?;
        Some(field.hint(group))
    };
    assert_eq!(
        hint("response").as_deref(),
        Some("PMO Appendix I, test 5.6: at most 1 s (built in; not verified); bound: at most 1 s")
    );
    let group = limits.map_or(&[][..], |group| group.fields);
    for field in group {
        assert!(hint(field.key).is_some_and(|hint| hint.len() > 10), "{}", field.key);
    }
}

#[test]
fn each_of_several_loggers_has_columns_of_its_own() {
    let text = FILE.replace(
        "[columns]",
        "[[loggers]]\nname = \"a\"\nfiles = \"*-a.csv\"\n\n[loggers.columns]",
    );
    let mut edit = edit(&text);
    let valve = |index| nth("loggers.columns.valve", index, "column");
    assert_eq!(edit.said(valve(0)).as_deref(), Some("FDD"));
    edit.say(valve(0), Kind::Column, "Device");
    let index = edit.add("loggers");
    edit.say(nth("loggers", index, "name"), Kind::Text, "b");
    edit.say(nth("loggers.columns", index, "time"), Kind::Column, "Stamp");
    edit.say(nth("loggers.columns.raw_pressure", index, "column"), Kind::Column, "P1");
    edit.say(nth("loggers.form", index, "decimal_mark"), Kind::Text, ",");
    let text = edit.text();
    assert!(text.contains("valve = { column = \"Device\", forward = [\"FWD\"]"), "{text}");
    assert!(
        text.contains("[loggers.columns]\ntime = \"Stamp\"\nraw_pressure = { column = \"P1\" }"),
        "{text}"
    );
    edit.say(nth("loggers.columns.raw_pressure", index, "column"), Kind::Column, "");
    edit.remove("loggers", 0);
    assert_eq!(edit.said(nth("loggers.columns", 0, "time")).as_deref(), Some("Stamp"));
    assert!(!edit.text().contains("raw_pressure"), "{}", edit.text());
}
