//! Rosters on the command line: tables, who is away, sections, and the form for the director.

use crate::command_line::{Place, err, out, two_bars};
use bandwright::band::{preset, read_csv};
use bandwright::export::questionnaire;

const ROSTER: &str = "name = \"Pine <Gap> & \\\"Co\\\"\"\n\
[[section]]\nname = \"Trumpet\"\ninstrument = \"trumpet\"\nparts = 2\nplayers = \"1 all-state, 2 intermediate, 2 first-year\"\n\
[[section.player]]\nname = \"Ann <b>Lee</b>\"\nlevel = \"advanced\"\nremarks = { go_easy = \"braces\", note = \"<script>alert('x')</script>\" }\n\
[[part]]\nname = \"Clarinet\"\ninstrument = \"clarinet_bb\"\nplayers = \"2 intermediate\"\nremarks = { highest = \"G5\", below_the_break = true, exposed = \"never\" }\n\
[[part]]\nname = \"Tuba\"\ninstrument = \"tuba\"\nplayers = { second_year = 1 }\n";

fn place() -> Place {
    Place::new()
        .with("band.toml", ROSTER.as_bytes())
        .with("a.mid", &two_bars())
}

#[test]
fn a_table_is_taken_wherever_a_band_is() {
    let place = place();
    let table = place.does(&["bands", "band.toml", "--csv"]);
    let place = place
        .with("band.csv", table.as_bytes())
        .with("table.txt", table.as_bytes());
    for file in ["band.csv", "table.txt"] {
        assert_eq!(
            place.does(&["bands", file]),
            place.does(&["bands", "band.toml"])
        );
        assert_eq!(place.does(&["bands", file, "--csv"]), table);
    }
    place.does(&["voice", "a.mid", "--band", "band.csv"]);
    let output = place.run(&["review", "draft.mid", "--band", "band.csv"]);
    assert!(
        matches!(output.status.code(), Some(0 | 1)),
        "{}",
        err(&output)
    );
    place.does(&["ask", "--band", "band.csv", "--html", "form.html"]);
    let wrong = table.replace("all_state", "all_star");
    let place = place.with("band.csv", wrong.as_bytes());
    place.refuses(
        &["bands", "band.csv"],
        "band.csv, row 4, column `level`: unknown level `all_star`",
    );
    let place = place.with(
        "band.csv",
        b"part,level,instrument\nFl\xf6te,advanced,flute\n",
    );
    place.refuses(&["bands", "band.csv"], "CSV in UTF-8");
}

#[test]
fn those_who_are_away_do_not_play() {
    let place = place();
    let said = place.does(&[
        "bands",
        "band.toml",
        "--absent",
        "Ann <b>Lee</b>",
        "--absent",
        "2 x trumpet",
    ]);
    assert!(said.contains("3 players are away."), "{said}");
    assert!(!said.contains("first-year"), "{said}");
    let words = [
        "voice",
        "a.mid",
        "--band",
        "band.toml",
        "--absent",
        "Tuba:1",
        "--json",
        "-",
    ];
    let output = place.run(&words);
    assert_eq!(output.status.code(), Some(0), "{}", err(&output));
    assert!(
        err(&output).contains("nobody is there to play Tuba; it rests"),
        "{}",
        err(&output)
    );
    let json: serde_json::Value = serde_json::from_str(&out(&output)).unwrap();
    let parts = json["draft"]["parts"].as_array().unwrap();
    assert!(parts.iter().all(|p| p["name"] != "Tuba"));
    // Away people stay in the roster.
    let toml = place.does(&["bands", "band.toml", "--absent", "Ann <b>Lee</b>", "--toml"]);
    assert!(
        toml.contains("absent = true") && toml.contains("Ann"),
        "{toml}"
    );
    place.refuses(
        &[
            "voice",
            "a.mid",
            "--band",
            "band.toml",
            "--out",
            "b.mid",
            "--absent",
            "Trompet:1",
        ],
        "did you mean `Trumpet`?",
    );
    place.refuses(&["bands", "--absent", "1 x Flute"], "needs a band");
}

/// Names are for the director; nothing that leaves for players or other programs has them.
#[test]
fn names_stay_out_of_drafts() {
    let place = place();
    let output = place.run(&["voice", "a.mid", "--band", "band.toml", "--json", "d.json"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(err(&output).contains("care: Trumpet"), "{}", err(&output));
    for file in ["draft.mid", "d.json"] {
        let bytes = std::fs::read(place.path(file)).unwrap();
        assert!(!String::from_utf8_lossy(&bytes).contains("Lee"), "{file}");
    }
    assert!(!err(&output).contains("Lee") && !out(&output).contains("Lee"));
    assert!(
        place
            .does(&["bands", "band.toml"])
            .contains("Ann <b>Lee</b> (advanced)")
    );
}

#[test]
fn the_form_and_its_table_are_written_whole_or_not_at_all() {
    // Without what brings a caution, so that an error is all that is said.
    let place = Place::new().with(
        "band.toml",
        ROSTER.replace("go_easy = \"braces\", ", "").as_bytes(),
    );
    let said = place.does(&[
        "ask",
        "--band",
        "band.toml",
        "--html",
        "form.html",
        "--csv",
        "form.csv",
    ]);
    assert!(
        said.contains("form.html") && said.contains("--band form.csv"),
        "{said}"
    );
    let table = std::fs::read_to_string(place.path("form.csv")).unwrap();
    assert_eq!(
        place.does(&["bands", "form.csv", "--toml"]),
        place.does(&["bands", "band.toml", "--toml"])
    );
    assert!(read_csv(&table).is_ok());
    let ask = |more: &[&'static str]| [&["ask", "--band", "band.toml"], more].concat();
    place.refuses(&ask(&["--html", "form.html"]), "--force");
    place.refuses(
        &ask(&["--html", "new.html", "--csv", "form.csv"]),
        "--force",
    );
    place.refuses(
        &ask(&["--html", "band.toml", "--force"]),
        "both read and written",
    );
    place.refuses(
        &["ask", "--band", "form.csv", "--csv", "form.csv", "--force"],
        "both read and written",
    );
    place.refuses(
        &ask(&["--html", "same", "--csv", "same"]),
        "both read and written",
    );
    place.refuses(&ask(&["--html", "nowhere/form.html"]), "does not exist");
    place.does(&ask(&["--html", "form.html", "--force"]));
    let none = place.run(&ask(&[]));
    assert_eq!(none.status.code(), Some(2));
    assert!(err(&none).contains("--html"), "{}", err(&none));
}

/// Opening and closing tags of the page, to see that they fit one into the other.
fn tags_fit(page: &str) {
    const VOID: [&str; 4] = ["meta", "input", "col", "br"];
    let mut open: Vec<String> = Vec::new();
    for piece in page.split('<').skip(2) {
        let (tag, _) = piece.split_once('>').expect("a tag is closed");
        let name = tag
            .split(|c: char| c.is_whitespace())
            .next()
            .unwrap()
            .to_owned();
        if let Some(name) = name.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(name));
        } else if !VOID.contains(&name.as_str()) {
            open.push(name);
        }
    }
    assert_eq!(open, Vec::<String>::new());
}

#[test]
fn the_form_says_what_is_known_and_nothing_breaks_out_of_it() {
    let place = place();
    place.does(&["ask", "--band", "band.toml", "--html", "form.html"]);
    let page = std::fs::read_to_string(place.path("form.html")).unwrap();
    tags_fit(&page);
    assert!(page.contains("Pine &lt;Gap&gt; &amp; &quot;Co&quot;"));
    assert!(page.contains("Ann &lt;b&gt;Lee&lt;/b&gt;, advanced"));
    assert!(page.contains("&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;"));
    for word in ["<script", "http", "url(", "<b>Lee", "src="] {
        assert!(!page.contains(word), "{word}");
    }
    assert!(page.contains("value=\"G5\""));
    assert!(page.contains("aria-label=\"Clarinet: the break: stay below\" checked"));
    assert!(page.contains("aria-label=\"Clarinet: heard alone: never\" checked"));
    assert!(!page.contains("aria-label=\"Tuba: the break"));
    // Every column of the table is asked for, and every answer has a name to be read aloud.
    for column in bandwright::band::roster_csv::HEADER.iter().skip(4) {
        assert!(page.contains(column), "{column}");
    }
    let fields = page.matches("<input").count() + page.matches("<textarea").count();
    let named = page.matches("aria-label=").count() + page.matches("<label for=").count();
    assert_eq!(fields, named);
    let mut ids: Vec<&str> = page
        .split(" id=\"")
        .skip(1)
        .filter_map(|t| t.split('"').next())
        .collect();
    let count = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), count);
}

#[test]
fn parts_that_are_called_alike_are_asked_about_together() {
    let page = questionnaire(&preset("demo").unwrap());
    tags_fit(&page);
    assert_eq!(page.matches("<section class=\"block").count(), 14);
    assert!(page.contains("Clarinet <span class=\"instrument\">B-flat clarinet</span>"));
    assert!(page.contains("still on their first method book"));
}
