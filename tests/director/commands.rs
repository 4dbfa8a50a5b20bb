//! The commands, run as people run them.

use super::{all, by_id, parsed, text};
use crate::command_line::Place;
use bandwright::cli::files::DEMO_SKETCH;
use serde_json::Value;

fn demo() -> Place {
    let place = Place::new().with("lights.mid", DEMO_SKETCH);
    place.does(&[
        "voice",
        "lights.mid",
        "--band",
        "demo",
        "--out",
        "draft.mid",
    ]);
    place
}

fn read(place: &Place, name: &str) -> String {
    std::fs::read_to_string(place.path(name)).unwrap()
}

#[test]
fn the_sheet_of_a_draft_tells_what_review_tells() {
    let place = demo();
    let of = ["draft.mid", "--band", "demo", "--sketch", "lights.mid"];
    let with = |command: &str, more: &[&str]| {
        let words: Vec<&str> = [command].iter().chain(&of).chain(more).copied().collect();
        place.run(&words)
    };
    let review = with("review", &["--json", "-"]);
    let review: Value = serde_json::from_slice(&review.stdout).unwrap();
    let done = with(
        "director",
        &["--out", "sheet.html", "--title", "Harvest Lights"],
    );
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let page = read(&place, "sheet.html");
    let xml = parsed(&page);
    let rows = all(by_id(&xml, "band"), "tr");
    let clean = review["clean"].as_array().unwrap();
    assert_eq!(rows.len(), clean.len() + 1);
    for (row, line) in rows.iter().skip(1).zip(clean) {
        let cells: Vec<String> = all(*row, "td").iter().map(|c| text(*c)).collect();
        assert_eq!(cells[0], line["part"].as_str().unwrap());
        let mean: f64 = cells[3].parse().unwrap();
        assert!(
            (mean - line["mean"].as_f64().unwrap()).abs() < 0.0056,
            "{cells:?}"
        );
        let missed: f64 = cells[4].parse().unwrap();
        assert!(
            (missed - line["missed"].as_f64().unwrap()).abs() < 0.0556,
            "{cells:?}"
        );
    }
    let counts = all(by_id(&xml, "findings"), "p").into_iter().map(text);
    let counts = counts.filter(|p| p.ends_with(':'));
    let counted: usize = counts
        .map(|p| p.split(' ').next().unwrap().parse::<usize>().unwrap())
        .sum();
    assert_eq!(counted, review["findings"].as_array().unwrap().len());
    // Nothing is written over unless that is wanted.
    let again = with("director", &["--out", "sheet.html"]);
    assert_eq!(again.status.code(), Some(2));
    assert_eq!(read(&place, "sheet.html"), page);
    assert!(
        with(
            "director",
            &[
                "--out",
                "sheet.html",
                "--title",
                "Harvest Lights",
                "--force"
            ]
        )
        .status
        .success()
    );
    assert_eq!(read(&place, "sheet.html"), page);
    assert!(with("director", &["--out", "sheet.md"]).status.success());
    assert!(read(&place, "sheet.md").starts_with("# draft\n"));
    let part = with("part", &["clarinet 3", "--html", "c3.html"]);
    assert!(
        part.status.success(),
        "{}",
        String::from_utf8_lossy(&part.stderr)
    );
    assert!(read(&place, "c3.html").contains("draft: Clarinet 3"));
    // A draft by itself has a sheet, too.
    place.does(&[
        "director",
        "draft.mid",
        "--band",
        "demo",
        "--out",
        "alone.html",
    ]);
    assert!(read(&place, "alone.html").contains("No sketch was given"));
}

#[test]
fn what_cannot_be_done_is_refused_in_one_sentence() {
    let place = demo();
    place.refuses(
        &["director", "draft.mid", "--out", "s.html"],
        "name the band",
    );
    place.refuses(
        &["director", "draft.mid", "--band", "demo", "--out", "s.pdf"],
        ".html or .md",
    );
    place.refuses(
        &[
            "part",
            "draft.mid",
            "Flute 1",
            "--band",
            "demo",
            "--html",
            "s.md",
        ],
        "end with .html",
    );
    place.refuses(
        &[
            "part",
            "draft.mid",
            "Flut 1",
            "--band",
            "demo",
            "--html",
            "s.html",
        ],
        "did you mean `Flute 1`",
    );
    place.refuses(
        &[
            "director",
            "draft.mid",
            "--band",
            "demo",
            "--out",
            "no/s.html",
        ],
        "does not exist",
    );
    place.refuses(
        &["director", "none.mid", "--band", "demo", "--out", "s.html"],
        "no such file",
    );
    place.refuses(
        &[
            "director",
            "lights.mid",
            "--band",
            "small-marching",
            "--sketch",
            "draft.mid",
            "--tags",
            "s.html",
            "--out",
            "s.html",
        ],
        "s.html",
    );
    let place = place.with("show.bandwright", b"{}");
    place.refuses(
        &[
            "director",
            "show.bandwright",
            "--band",
            "demo",
            "--out",
            "s.html",
        ],
        "has its own band",
    );
    place.refuses(
        &["director", "show.bandwright", "--out", "s.html"],
        "show.bandwright",
    );
}

#[test]
fn a_show_has_its_sheet_and_its_pages() {
    let look = super::demo();
    let project = bandwright::project::Project::new(look.document.clone());
    let bytes = bandwright::project::project_bytes(&project);
    let place = Place::new().with("lights.bandwright", &bytes);
    place.does(&["director", "lights.bandwright", "--out", "sheet.html"]);
    let drafted = bandwright::project::drafted::Drafted::of(look);
    let sheet = bandwright::project::directors_sheet::directors_sheet(&drafted, true);
    let page = read(&place, "sheet.html");
    assert_eq!(page, bandwright::export::directors_html(&sheet));
    let of_show = bandwright::project::directors_sheet::sheet_of_show;
    let form = bandwright::export::page::PageForm::Html;
    assert_eq!(page, of_show(look, form, true));
    place.does(&[
        "part",
        "lights.bandwright",
        "Trumpet 1",
        "--html",
        "t1.html",
    ]);
    let page = read(&place, "t1.html");
    assert!(page.contains("Harvest Lights: Trumpet 1"));
    let trumpet = look
        .document
        .band
        .ids()
        .find(|(_, p)| p.name == "Trumpet 1");
    let of_part = bandwright::project::practice_page::page_of_part;
    assert_eq!(of_part(look, trumpet.unwrap().0), Some(page));
}

#[test]
fn nobody_is_named_who_need_not_be() {
    let roster = "name = \"Alder Creek\"\n[[part]]\nname = \"Flute\"\ninstrument = \"flute\"\n\
        [[part.player]]\nname = \"Ann Able\"\nlevel = \"advanced\"\n\
        [[part.player]]\nname = \"Bob Baker\"\nlevel = \"second year\"\nabsent = true\n\
        [[part]]\nname = \"Tuba\"\ninstrument = \"tuba\"\nplayers = { intermediate = 1 }\n";
    let place = Place::new()
        .with("lights.mid", DEMO_SKETCH)
        .with("band.toml", roster.as_bytes());
    place.does(&[
        "voice",
        "lights.mid",
        "--band",
        "band.toml",
        "--out",
        "draft.mid",
    ]);
    let make = |out: &str, more: &[&str]| {
        let words = ["director", "draft.mid", "--band", "band.toml", "--out", out];
        let words: Vec<&str> = words.iter().chain(more).copied().collect();
        place.does(&words);
        read(&place, out)
    };
    let (named, unnamed) = (make("a.html", &[]), make("b.md", &["--no-names"]));
    assert!(named.contains("Bob Baker") && !named.contains("Ann Able"));
    assert!(!unnamed.contains("Bob") && !unnamed.contains("Ann Able"));
    assert!(unnamed.contains("1 second-year"));
}
