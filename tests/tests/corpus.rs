//! The corpora of the fuzz targets go through the doors that the fuzzer drives, each file and each
//! beginning of it.

#[path = "../fuzz/bodies.rs"]
mod bodies;

use tests::program::root;

/// What is done with the bytes of a file.
type Door = fn(&[u8]);

#[test]
fn every_file_of_the_corpora_is_read_or_refused() {
    let doors = [
        ("logger_file", bodies::logger_file as Door),
        ("plain_rows", bodies::plain_rows),
        ("container", bodies::container),
        ("workbook", bodies::workbook),
        ("open_document", bodies::open_document),
        ("parquet", bodies::parquet),
        ("set_up", bodies::set_up),
        ("plant_file", bodies::plant_file),
        ("books", bodies::books),
        ("run_sheet", bodies::run_sheet),
        ("numbers", bodies::numbers),
        ("stamps", bodies::stamps),
    ];
    for (name, door) in doors {
        let folder = root().join("tests/fuzz/corpus").join(name);
        let files = std::fs::read_dir(&folder)
            .unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
        let mut count = 0;
        for file in files.flatten() {
            let bytes = std::fs::read(file.path())
                .unwrap_or_else(|error| panic!("{}: {error}", file.path().display()));
            door(&bytes);
            for cut in (0..bytes.len()).step_by(bytes.len() / 40 + 1) {
                door(&bytes[..cut]);
            }
            count += 1;
        }
        assert!(count > 1, "{name} has a corpus");
    }
}
