//! Looks for SoundFonts in the usual places.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Where SoundFonts usually are, in the order in which they are looked for: what is the user's own comes first.
///
/// Linux: `sounds/sf2` is where Debian's packages put them (timgm6mb-soundfont, fluid-soundfont-gm: their lists of
/// files) and `soundfonts` where Fedora's do (MEM); below the folders of data of the XDG Base Directory Specification
/// 0.8 (MEM), whose defaults are `~/.local/share`, `/usr/local/share` and `/usr/share`. macOS: the folders of banks of
/// its built-in synthesizer (MEM). Windows has no such place; there a file is chosen.
#[must_use]
pub fn usual_places() -> Vec<PathBuf> {
    let variable = |name: &str| std::env::var_os(name).map(PathBuf::from);
    let home = variable("HOME");
    if cfg!(target_os = "macos") {
        banks(home.as_deref())
    } else if cfg!(windows) {
        Vec::new()
    } else {
        let folders = std::env::var_os("XDG_DATA_DIRS");
        let folders = folders.map(|f| std::env::split_paths(&f).collect());
        shares(variable("XDG_DATA_HOME"), home.as_deref(), folders)
    }
}

/// The places on macOS.
fn banks(home: Option<&Path>) -> Vec<PathBuf> {
    let below = |root: &Path| root.join("Library/Audio/Sounds/Banks");
    let own = home.map(below);
    own.into_iter().chain([below(Path::new("/"))]).collect()
}

/// The places below folders of data: that of the user, which is in the home if it is not told, and those of all. The
/// specification wants what is not an absolute path to be left out.
fn shares(own: Option<PathBuf>, home: Option<&Path>, all: Option<Vec<PathBuf>>) -> Vec<PathBuf> {
    let own = own.filter(|p| p.is_absolute());
    let own = own.or_else(|| home.map(|h| h.join(".local/share")));
    let all = all.filter(|a| a.iter().any(|p| p.is_absolute()));
    // The two that packages use are looked at whatever is told.
    let always = ["/usr/local/share", "/usr/share"].map(PathBuf::from);
    let folders = own
        .into_iter()
        .chain(all.into_iter().flatten())
        .chain(always);
    let mut places: Vec<PathBuf> = Vec::new();
    for folder in folders.filter(|f| f.is_absolute()) {
        for below in ["sounds/sf2", "soundfonts"] {
            let place = folder.join(below);
            if !places.contains(&place) {
                places.push(place);
            }
        }
    }
    places
}

/// The files that end in `.sf2` in some places and in the folders right below them: in the order of the places, in
/// each by name, each file once even where several names lead to it. What cannot be read is passed over.
#[must_use]
pub fn found_fonts(places: &[PathBuf]) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut seen = BTreeSet::new();
    for place in places {
        let (files, folders) = inside(place);
        let below = folders.iter().flat_map(|f| inside(f).0);
        for file in files.into_iter().chain(below) {
            if let Ok(real) = file.canonicalize()
                && real.is_file()
                && seen.insert(real.clone())
            {
                found.push(real);
            }
        }
    }
    found
}

/// The fonts and the folders in a folder, by name.
fn inside(folder: &Path) -> (Vec<PathBuf>, Vec<PathBuf>) {
    let entries = std::fs::read_dir(folder).into_iter().flatten();
    let mut paths: Vec<PathBuf> = entries.flatten().map(|e| e.path()).collect();
    paths.sort();
    let font = |p: &PathBuf| p.extension().is_some_and(|e| e.eq_ignore_ascii_case("sf2"));
    let (folders, files): (Vec<PathBuf>, Vec<PathBuf>) =
        paths.into_iter().partition(|p| p.is_dir());
    (files.into_iter().filter(font).collect(), folders)
}

#[cfg(test)]
mod tests {
    use super::{banks, shares};
    use std::path::{Path, PathBuf};

    fn told(places: &[PathBuf]) -> Vec<&str> {
        places.iter().map(|p| p.to_str().unwrap()).collect()
    }

    #[test]
    #[cfg(unix)]
    fn the_user_s_own_come_first_and_none_comes_twice() {
        let home = Some(Path::new("/home/mira"));
        assert_eq!(
            told(&shares(None, home, None)),
            [
                "/home/mira/.local/share/sounds/sf2",
                "/home/mira/.local/share/soundfonts",
                "/usr/local/share/sounds/sf2",
                "/usr/local/share/soundfonts",
                "/usr/share/sounds/sf2",
                "/usr/share/soundfonts",
            ]
        );
        let own = Some(PathBuf::from("/data"));
        let all = Some(
            ["/opt/share", "not/absolute", "/usr/share"]
                .map(PathBuf::from)
                .to_vec(),
        );
        assert_eq!(
            told(&shares(own, home, all)),
            [
                "/data/sounds/sf2",
                "/data/soundfonts",
                "/opt/share/sounds/sf2",
                "/opt/share/soundfonts",
                "/usr/share/sounds/sf2",
                "/usr/share/soundfonts",
                "/usr/local/share/sounds/sf2",
                "/usr/local/share/soundfonts",
            ]
        );
        assert_eq!(shares(Some("relative".into()), None, None).len(), 4);
    }

    #[test]
    #[cfg(unix)]
    fn banks_are_the_user_s_and_everybody_s() {
        assert_eq!(
            told(&banks(Some(Path::new("/Users/mira")))),
            [
                "/Users/mira/Library/Audio/Sounds/Banks",
                "/Library/Audio/Sounds/Banks"
            ]
        );
        assert_eq!(banks(None).len(), 1);
    }
}
