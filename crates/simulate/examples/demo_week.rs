//! Writes the demo plant's week (invented) into a folder, with its truth: a folder to open in the window.

use std::path::PathBuf;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args_os().nth(1).map(PathBuf::from);
    let folder = folder.ok_or("name the folder into which the week is written")?;
    for (name, bytes) in simulate::week::week()?.files()? {
        let path = folder.join(name);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent)?;
        }
        std::fs::write(path, bytes)?;
    }
    Ok(())
}
