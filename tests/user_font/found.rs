//! Fonts are found where they usually are, and files that are none are refused.

use super::uneven;
use bandwright::device::found_fonts::{found_fonts, usual_places};
use bandwright::device::open_font::open_font;
use bandwright::sound::user_font::FontError;
use std::fs;
use std::path::PathBuf;

#[test]
fn they_are_found_in_order_each_once_and_one_folder_deep() {
    let top = tempfile::tempdir().unwrap();
    let top = top.path().canonicalize().unwrap();
    let (one, two) = (top.join("one"), top.join("two"));
    fs::create_dir_all(one.join("below/deeper")).unwrap();
    fs::create_dir_all(&two).unwrap();
    let files = [
        "two/c.sf2",
        "one/b.SF2",
        "one/a.sf2",
        "one/below/d.sf2",
        "one/below/deeper/e.sf2",
        "one/notes.txt",
    ];
    for file in files {
        fs::write(top.join(file), "x").unwrap();
    }
    // A folder that is called like a font is none.
    fs::create_dir(two.join("folder.sf2")).unwrap();
    let wanted: Vec<PathBuf> = ["one/a.sf2", "one/b.SF2", "one/below/d.sf2", "two/c.sf2"]
        .iter()
        .map(|f| top.join(f))
        .collect();
    let places = [one.clone(), top.join("nowhere"), two, one];
    assert_eq!(found_fonts(&places), wanted);
}

#[test]
#[cfg(unix)]
fn links_to_a_font_do_not_show_it_twice() {
    let top = tempfile::tempdir().unwrap();
    let top = top.path().canonicalize().unwrap();
    fs::write(top.join("real.sf2"), "x").unwrap();
    std::os::unix::fs::symlink(top.join("real.sf2"), top.join("default.sf2")).unwrap();
    std::os::unix::fs::symlink(top.join("gone.sf2"), top.join("broken.sf2")).unwrap();
    std::os::unix::fs::symlink(&top, top.join("round")).unwrap();
    assert_eq!(
        found_fonts(std::slice::from_ref(&top)),
        [top.join("real.sf2")]
    );
}

#[test]
fn usual_places_are_whole_paths() {
    for place in usual_places() {
        assert!(place.is_absolute(), "{}", place.display());
    }
}

#[test]
fn what_is_on_the_disk_is_read() {
    let top = tempfile::tempdir().unwrap();
    let file = top.path().join("uneven.sf2");
    fs::write(&file, uneven()).unwrap();
    assert_eq!(open_font(&file).unwrap().name, "uneven");
}

#[test]
fn what_is_gone_or_no_file_is_refused_in_one_sentence() {
    let top = tempfile::tempdir().unwrap();
    let gone = open_font(&top.path().join("gone.sf2")).unwrap_err();
    assert!(matches!(gone, FontError::Unreadable(_)));
    let folder = open_font(top.path()).unwrap_err();
    assert_eq!(folder, FontError::NoSoundFont);
    for told in [gone, folder] {
        let told = told.to_string();
        assert!(!told.contains('\n') && told.contains(';'), "{told}");
    }
}

#[test]
fn what_is_too_large_is_refused_without_being_read() {
    let top = tempfile::tempdir().unwrap();
    let path = top.path().join("large.sf2");
    // A file with a hole takes no room.
    let file = fs::File::create(&path).unwrap();
    file.set_len(1_000_000_001).unwrap();
    assert_eq!(open_font(&path).unwrap_err(), FontError::TooLarge);
}
