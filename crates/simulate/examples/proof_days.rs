//! Writes the days of `simulate::proof` into a folder, each in a folder of its own, to look at one.

use std::path::PathBuf;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder: PathBuf = std::env::args_os().nth(1).ok_or("give the folder to write to")?.into();
    for day in simulate::proof::proof_days()? {
        let folder = folder.join(day.name);
        std::fs::create_dir_all(&folder)?;
        for file in &day.files {
            std::fs::write(folder.join(file.name), &file.text)?;
        }
        std::fs::write(folder.join("must.txt"), format!("{}\n\n{:#?}\n", day.item, day.must))?;
    }
    Ok(())
}
