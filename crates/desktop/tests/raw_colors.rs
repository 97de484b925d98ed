//! Colours have one home: `src/theme`. Elsewhere a raw colour is a fault, because contrast and the
//! three appearances are computed for those of the theme only.

use std::path::Path;

type Outcome = Result<(), Box<dyn std::error::Error>>;

/// What makes a colour out of figures, or takes one of the toolkit's own.
const RAW: [&str; 8] = [
    "Color32::",
    "Rgba::",
    "Hsva",
    "hex_color!",
    "from_rgb(",
    "from_gray(",
    "from_black_alpha(",
    "from_white_alpha(",
];

fn scan(folder: &Path, found: &mut Vec<String>, files: &mut usize) -> Outcome {
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            if path.file_name().is_none_or(|name| name != "theme") {
                scan(&path, found, files)?;
            }
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            *files += 1;
            found.extend(raw(&std::fs::read_to_string(&path)?, &path));
        }
    }
    Ok(())
}

fn raw(text: &str, path: &Path) -> Vec<String> {
    let lines = text.lines().enumerate().filter(|(_, line)| {
        let code = line.split("//").next().unwrap_or("");
        // No colour at all is no raw colour.
        let code = code.replace("Color32::TRANSPARENT", "");
        RAW.iter().any(|word| code.contains(word))
    });
    lines.map(|(index, line)| format!("{}:{}: {line}", path.display(), index + 1)).collect()
}

#[test]
fn raw_colors_are_in_the_theme_only() -> Outcome {
    let (mut found, mut files) = (Vec::new(), 0);
    scan(Path::new("src"), &mut found, &mut files)?;
    assert!(files > 20, "only {files} files were looked at");
    assert!(found.is_empty(), "raw colours outside src/theme:\n{}", found.join("\n"));
    Ok(())
}

#[test]
fn a_raw_color_would_be_found() {
    for bad in
        ["let ink = Color32::RED;", "fill(Color32::from_rgb(1, 2, 3))", "hex_color!(\"#fff\")"]
    {
        assert_eq!(raw(bad, Path::new("bad.rs")).len(), 1, "{bad}");
    }
    assert!(raw("// Color32::RED\nlook.colors.ink", Path::new("good.rs")).is_empty());
}
