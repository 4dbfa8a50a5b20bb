//! Rosters as tables: round trips, what spreadsheets write, and damage.

use bandwright::band::{Split, preset, preset_names, read_band, read_csv, write_band, write_csv};
use proptest::prelude::*;

use super::any_roster::any_band;

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn a_band_comes_back_from_its_table(band in any_band()) {
        let text = write_csv(&band);
        prop_assert_eq!(read_csv(&text), Ok(band), "{}", text);
    }

    #[test]
    fn no_cell_is_a_formula(band in any_band()) {
        let text = write_csv(&band);
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
        for record in reader.records() {
            for cell in &record.unwrap() {
                prop_assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{}", cell);
            }
        }
    }

    #[test]
    fn damaged_tables_and_rosters_never_panic(
        band in any_band(),
        edits in prop::collection::vec((any::<prop::sample::Index>(), "[\",;=\n\r\\[\\]{}#x0-9é\u{feff}]{0,3}", 0..6_usize), 1..8),
    ) {
        for whole in [write_csv(&band), write_band(&band)] {
            let mut letters: Vec<char> = whole.chars().collect();
            for (at, put, cut) in &edits {
                let start = at.index(letters.len() + 1);
                let end = (start + cut).min(letters.len());
                letters.splice(start..end, put.chars());
            }
            let text: String = letters.into_iter().collect();
            if let Err(error) = read_csv(&text) {
                let said = error.to_string();
                prop_assert!(said.starts_with("row ") && !said.contains(char::is_control), "{}", said);
            }
            if let Err(error) = read_band(&text) {
                prop_assert!(error.line >= 1 && error.line <= text.lines().count() + 1);
            }
        }
    }
}

#[test]
fn all_presets_come_back_from_their_tables() {
    for name in preset_names() {
        let band = preset(name).unwrap();
        assert_eq!(read_csv(&write_csv(&band)), Ok(band), "{name}");
    }
}

const TABLE: &str = "section,part,instrument,parts,count,level,name,absent,highest,no_faster_than,note\n\
,,,,,,Pine Gap,,,,Free text\n\
Trumpet,,trumpet,2,2,all-state,,,,,\n\
,Tuba,tuba,,1,second year,,,,,\n\
Trumpet,,,,3,First Year,,,C5,\"3,5\",\n\
Trumpet,2,,,,intermediate,Ann Lee,yes,,,\n\
,Tuba,,,,,,,D3,,\"one, only\"\n";

#[test]
fn a_table_is_read_as_directors_write_it() {
    let band = read_csv(TABLE).unwrap();
    assert_eq!(
        (band.name.as_str(), band.note.as_str()),
        ("Pine Gap", "Free text")
    );
    let trumpet = &band.roster.sections[0];
    assert_eq!((trumpet.split, trumpet.seats.len()), (Split::Into(2), 6));
    let ann = &trumpet.seats[5];
    assert!(ann.absent && ann.part == Some(2) && ann.name == "Ann Lee");
    assert_eq!(trumpet.seats[2].remarks.no_faster_than.unwrap().0, 3.5);
    let tuba = band.parts.iter().find(|p| p.name == "Tuba").unwrap();
    assert_eq!(tuba.remarks.highest.unwrap().to_string(), "D3");
    assert_eq!(tuba.remarks.note, "one, only");
}

#[test]
fn what_spreadsheets_do_to_a_table_does_not_matter() {
    let band = read_csv(TABLE);
    assert!(band.is_ok());
    let semicolons = TABLE
        .replace("\"3,5\"", "3.5")
        .replace("\"one, only\"", "\"one\u{1}only\"");
    let semicolons = semicolons.replace(',', ";").replace('\u{1}', ", ");
    let crlf = TABLE.replace('\n', "\r\n");
    let header = TABLE
        .replacen("section,part", " Section ,PART", 1)
        .replacen("no_faster_than", "No faster-than", 1);
    let empty = TABLE.replace("\n,Tuba", "\n\n,,,,,,,,,,\n,Tuba");
    let cells = TABLE.replace("\n,Tuba,tuba", "\n,\"Tuba\",\" tuba \"");
    for text in [
        semicolons.clone(),
        crlf.clone(),
        header,
        empty,
        cells,
        format!("\u{feff}{crlf}"),
        format!("sep=;\r\n{semicolons}"),
        TABLE
            .replace("\"3,5\"", "3.5")
            .replace(", only", "")
            .replace(',', "\t")
            .replace("one", "one, only"),
        TABLE.trim_end().to_owned(),
        TABLE
            .replace("trumpet,2", "Trumpet,2")
            .replace("First Year", "first_years"),
    ] {
        assert_eq!(read_csv(&text), band, "{text}");
    }
}

#[test]
fn columns_may_be_few() {
    let band =
        read_csv("Part,Instrument,Level\nFlute,flute,advanced\nFlute,flute,first year\n").unwrap();
    assert_eq!(band.parts[0].players.0, [1, 0, 0, 1, 0]);
    assert_eq!(band.name, "Band");
}

#[track_caller]
fn refused(text: &str, words: &str) {
    let error = read_csv(text).expect_err(text).to_string();
    assert!(error.contains(words), "{error}");
}

#[test]
fn errors_name_row_and_column() {
    refused("", "row 1: the table is empty");
    refused("\u{feff}\r\n", "the table is empty");
    refused(
        "part,levl,instrument\n",
        "row 1: unknown column `levl`; did you mean `level`?",
    );
    refused("part,level\n", "the column `instrument` is missing");
    refused(
        "part,level,instrument,Level\n",
        "two columns are named `level`",
    );
    refused("part,level,instrument\n", "no parts");
    let row = |cells: &str| {
        format!(
            "section,part,instrument,parts,count,level,name,absent,highest,exposed,go_easy\n\n{cells}\n"
        )
    };
    refused(
        &row(",Flute,flut,,1,advanced"),
        "row 3, column `instrument`: unknown instrument `flut`; did you mean `flute`?",
    );
    refused(
        &row(",Flute,flute,,1,advancd"),
        "row 3, column `level`: unknown level `advancd`; did you mean `advanced`?",
    );
    refused(
        &row(",Flute,flute,,two,advanced"),
        "row 3, column `count`: `count` must be from 1 to 500",
    );
    refused(&row(",Flute,flute,,501,advanced"), "from 1 to 500");
    refused(
        &row(",Flute,flute,,2,advanced,Ann"),
        "a player with a name is one",
    );
    refused(
        &row(",Flute,flute,,2,,"),
        "row 3, column `level`: the level is missing",
    );
    refused(
        &row(",Flute,,,2,advanced"),
        "row 3, column `instrument`: `Flute` has no instrument",
    );
    refused(
        &row(",,flute,,2,advanced"),
        "row 3, column `section`: neither a section nor a part",
    );
    refused(
        &row(",Flute,flute,2,2,advanced"),
        "column `parts`: `Flute` is one part",
    );
    refused(
        &row("Flute,,flute,9,2,advanced"),
        "column `parts`: `parts` must be from 1 to 6",
    );
    refused(
        &row("Flute,3,flute,2,2,advanced"),
        "column `part`: `part` must be from 1 to 2",
    );
    refused(
        &row(",Flute,flute,,2,advanced,,perhaps"),
        "column `absent`: `absent` is yes or no",
    );
    refused(
        &row(",Flute,flute,,2,advanced,,,H5"),
        "column `highest`: `H5` is no note name",
    );
    refused(
        &row(",Flute,flute,,2,advanced,,,,sometimes"),
        "column `exposed`",
    );
    refused(
        &row(",Flute,flute,,2,advanced,,,,,cold"),
        "column `go_easy`",
    );
    refused(
        &row(",Flute,flute,,2,advanced,,,,,,more"),
        "row 3: `more` stands in a column without a name",
    );
    refused(
        &row(",Flute,flute,,2,advanced\n,Flute,tuba,,1,advanced"),
        "row 4, column `instrument`: `Flute` plays `flute`",
    );
    refused(
        &row(",Flute,flute,,2,advanced\nflute,,flute,,1,advanced"),
        "a section in one row and a part in another",
    );
    refused(
        &row(",Flute,flute,,,,,,C6\n,Flute,flute,,1,advanced\n,Flute,flute,,,,,,C5"),
        "row 5, column `part`: a second row of remarks",
    );
    refused(
        &row(",Flute,flute,,,,,,C6"),
        "row 3: `Flute` has no players",
    );
    refused(
        &row(",,,,,,Band\n,,,,,,Again"),
        "row 4, column `section`: a second row",
    );
    refused(
        &row(",Flute,flute,,2,advanced,,,C2"),
        "row 3: `Flute`: the remarks leave these players no notes",
    );
}

/// Rows are counted as a spreadsheet counts them: empty rows too, line ends inside a cell not.
#[test]
fn rows_are_counted_as_in_a_spreadsheet() {
    for end in ["\n", "\r\n", "\r"] {
        let lines = [
            "part,level,instrument,note",
            "Flute,advanced,flute,\"two\nlines\nmore\"",
            "",
            ",,,",
            "Tuba,advancd,tuba,",
        ];
        refused(&lines.join(end), "row 5, column `level`");
        refused(
            &format!("{end}{}", lines.join(end)),
            "row 6, column `level`",
        );
    }
}
