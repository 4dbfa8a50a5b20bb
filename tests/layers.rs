//! The source keeps to its order: what each folder may know, and a few habits of every file.

use std::path::{Path, PathBuf};

/// The folders of `src`, each allowed to import from those before it alone.
const ORDER: [&str; 14] = [
    "music", "sketch", "band", "score", "plan", "voicing", "review", "notation", "export",
    "project", "sound", "device", "cli", "app",
];

/// Files besides the commands that read and write files.
const FILERS: [&str; 7] = [
    "src/app/recent.rs",
    "src/device/found_fonts.rs",
    "src/device/open_font.rs",
    "src/device/pulse/server.rs",
    "src/export/safe_write.rs",
    "src/project/held.rs",
    "src/project/journal.rs",
];

/// Files that start threads.
const THREADED: [&str; 7] = [
    "src/app/dialogs.rs",
    "src/app/listen/speaker.rs",
    "src/app/worker.rs",
    "src/device/midi_player.rs",
    "src/device/pulse/mod.rs",
    "src/device/pulse/wait.rs",
    "src/voicing/side_by_side.rs",
];

/// Most lines of a source file.
const MOST_LINES: usize = 600;

/// Ways out of the program: only the commands and a few files take them, and one file starts
/// threads.
const OUTWARD: [&str; 8] = [
    "std::fs",
    "std::env",
    "std::process",
    "std::io::std",
    "std::net",
    "println!",
    "print!(",
    "std::thread",
];

struct Source {
    /// Below the folder of the package, with `/` between folders.
    path: String,
    text: String,
}

impl Source {
    /// The folder of `src` that it is in; `None` for `lib.rs` and `main.rs`.
    fn folder(&self) -> Option<&str> {
        let rest = self.path.strip_prefix("src/")?;
        rest.split_once('/').map(|(folder, _)| folder)
    }

    /// Its code without remarks and without its own tests, line by line, with line numbers.
    fn code(&self) -> impl Iterator<Item = (usize, &str)> {
        self.text
            .lines()
            .take_while(|l| l.trim() != "#[cfg(test)]")
            .enumerate()
            .map(|(i, l)| (i + 1, l.split_once("//").map_or(l, |(code, _)| code)))
    }
}

fn sources(top: &str) -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut folders = vec![root.join(top)];
    let mut paths: Vec<PathBuf> = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                paths.push(path);
            }
        }
    }
    paths.sort();
    let source = |path: &PathBuf| Source {
        path: path
            .strip_prefix(root)
            .unwrap()
            .display()
            .to_string()
            .replace('\\', "/"),
        text: std::fs::read_to_string(path).unwrap(),
    };
    let found: Vec<Source> = paths.iter().map(source).collect();
    assert!(!found.is_empty(), "no source under {top}");
    found
}

/// The first names of every path of the crate in some code, those of groups too.
fn imports(code: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        let own = code[..at]
            .chars()
            .last()
            .is_none_or(|c| !c.is_alphanumeric() && c != '_');
        let rest = &code[at + "crate::".len()..];
        if !own {
            continue;
        }
        match rest.strip_prefix('{') {
            Some(group) => found.extend(names_of_group(group)),
            None => found.push(first_name(rest)),
        }
    }
    found
}

fn first_name(text: &str) -> String {
    let text = text.trim_start();
    let end = text
        .find(|c: char| !c.is_alphanumeric() && c != '_')
        .unwrap_or(text.len());
    text[..end].to_owned()
}

fn names_of_group(group: &str) -> Vec<String> {
    let (mut depth, mut start, mut names) = (0, 0, Vec::new());
    for (i, c) in group.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                names.push(first_name(&group[start..i]));
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                names.push(first_name(&group[start..i]));
                start = i + 1;
            }
            _ => {}
        }
    }
    names.retain(|n| !n.is_empty());
    names
}

/// Why an import of `name` from `folder` is against the order.
fn against_order(folder: &str, name: &str) -> Option<String> {
    let place = |of: &str| ORDER.iter().position(|f| *f == of);
    let Some(from) = place(folder) else {
        return Some(format!("the folder {folder} has no place in the order"));
    };
    match place(name) {
        None => Some(format!("imports {name}, which has no place in the order")),
        Some(to) if to > from => Some(format!("imports {name}, which comes after {folder}")),
        _ if folder == "review" && name == "voicing" => {
            Some("the reviewer knows nothing of the solver".to_owned())
        }
        _ => None,
    }
}

#[test]
fn folders_import_only_from_those_before_them() {
    let mut wrong = Vec::new();
    let mut seen = 0;
    for source in sources("src") {
        let Some(folder) = source.folder() else {
            continue;
        };
        let code: Vec<&str> = source.code().map(|(_, l)| l).collect();
        let code = code.join("\n");
        for name in imports(&code) {
            seen += 1;
            wrong.extend(against_order(folder, &name).map(|why| format!("{}: {why}", source.path)));
        }
        let climbs = if source.path.ends_with("/mod.rs") {
            "super::"
        } else {
            "super::super::"
        };
        if code.contains(climbs) {
            wrong.push(format!("{}: climbs out of its folder", source.path));
        }
    }
    assert!(seen > 50, "only {seen} imports were found");
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn the_reader_of_imports_sees_what_it_should() {
    let code = "use crate::music::{Tick, Ticks};\nuse crate::{\n band::Band,\n score::{Role, lock},\n};\nx: crate::cli::Failure, subcrate::no";
    assert_eq!(imports(code), ["music", "band", "score", "cli"]);
    assert!(against_order("music", "sketch").is_some());
    assert!(against_order("review", "voicing").is_some());
    assert!(against_order("plan", "nowhere").is_some());
    assert!(against_order("cli", "voicing").is_none());
    assert!(against_order("plan", "plan").is_none());
}

#[test]
fn the_library_stays_inside_itself() {
    let mut wrong = Vec::new();
    for source in sources("src") {
        let command = source.folder() == Some("cli") || source.path == "src/main.rs";
        let files = FILERS.contains(&source.path.as_str());
        let threads = THREADED.contains(&source.path.as_str());
        let command = command || source.path == "src/app/start.rs";
        for (line, code) in source.code() {
            let outward = OUTWARD.iter().find(|word| code.contains(**word));
            if let Some(word) = outward.filter(|w| {
                let allowed = match **w {
                    "std::fs" => files,
                    "std::thread" => threads,
                    // Where SoundFonts lie, and the word for the end of a local socket.
                    "std::env" => source.path == "src/device/found_fonts.rs",
                    "std::net" => source.path == "src/device/pulse/server.rs",
                    _ => false,
                };
                !(command || allowed)
            }) {
                wrong.push(format!("{}:{line}: {word}", source.path));
            }
            if code.contains("midly") && source.folder() != Some("export") {
                wrong.push(format!("{}:{line}: midly is for export alone", source.path));
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

#[test]
fn every_file_keeps_the_habits() {
    let mut wrong = Vec::new();
    for source in sources("src").into_iter().chain(sources("tests")) {
        if !source.text.starts_with("//! ") {
            wrong.push(format!("{}: does not say what it is for", source.path));
        }
        let lines = source.text.lines().count();
        if lines > MOST_LINES {
            wrong.push(format!("{}: {lines} lines", source.path));
        }
        let product = source.path.starts_with("src/");
        for (line, code) in source.code() {
            let forbidden = ["todo", "unimplemented"].map(|w| format!("{w}!("));
            let skipped = format!("#[{}", "ignore");
            let panics = product && (code.contains(".unwrap()") || code.contains("panic!("));
            if forbidden.iter().any(|f| code.contains(f)) || code.contains(&skipped) || panics {
                wrong.push(format!("{}:{line}: {}", source.path, code.trim()));
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}
