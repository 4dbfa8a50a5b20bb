//! The director's sheet and the practice page of a part: what they tell is what the judging code says.

mod any_text;
mod commands;
mod notation_svg;
mod practice;
mod rules;
mod sheet;

use bandwright::band::preset;
use bandwright::cli::files::DEMO_SKETCH;
use bandwright::project::standing::{Ask, Look, Standing};
use bandwright::project::{Document, SketchFile};
use bandwright::voicing::Effort;
use roxmltree::{Document as Xml, Node, ParsingOptions};
use std::sync::{Arc, OnceLock};

/// The demo show with its draft.
pub fn demo() -> &'static Look {
    static LOOK: OnceLock<Look> = OnceLock::new();
    LOOK.get_or_init(|| {
        let file = SketchFile {
            name: "demo.mid".to_owned(),
            bytes: DEMO_SKETCH.to_vec(),
            ..SketchFile::default()
        };
        let document = Document::new("Harvest Lights", file, preset("demo").unwrap());
        let mut standing = Standing::of(&document).unwrap();
        let found = standing.solve(&Ask::Afresh, &Effort::default(), &mut |_| {});
        let drafted = Document {
            draft: Arc::new(found.draft),
            ..document
        };
        standing.follow(&drafted).unwrap();
        standing.look().clone()
    })
}

/// A page taken apart.
pub fn parsed(page: &str) -> Xml<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Xml::parse_with_options(page, options).unwrap()
}

/// All text in an element, pieces joined by nothing.
pub fn text(node: Node<'_, '_>) -> String {
    let texts = node.descendants().filter(Node::is_text);
    texts.filter_map(|t| t.text()).collect()
}

/// Elements of a name in an element.
pub fn all<'a, 'i>(node: Node<'a, 'i>, name: &'a str) -> Vec<Node<'a, 'i>> {
    node.descendants()
        .filter(|n| n.has_tag_name(name))
        .collect()
}

/// Elements of a class in an element.
pub fn of_class<'a, 'i>(node: Node<'a, 'i>, class: &str) -> Vec<Node<'a, 'i>> {
    let has = |n: &Node<'_, '_>| {
        let classes = n.attribute("class").unwrap_or_default();
        classes.split(' ').any(|c| c == class)
    };
    node.descendants().filter(has).collect()
}

/// The element of an id.
pub fn by_id<'a, 'i>(page: &'a Xml<'i>, id: &str) -> Node<'a, 'i> {
    let found = page.descendants().find(|n| n.attribute("id") == Some(id));
    found.unwrap_or_else(|| panic!("no element of the id {id}"))
}

/// Nothing on a page asks for anything outside of it, and nothing runs.
pub fn asks_for_nothing(page: &str) {
    assert!(!page.to_lowercase().contains("http"));
    assert!(!page.contains("@import"));
    for (at, _) in page.match_indices("url(") {
        assert!(page[at..].starts_with("url(data:font/ttf;base64,"));
    }
    let xml = parsed(page);
    for node in xml.descendants().filter(Node::is_element) {
        let name = node.tag_name().name();
        let active = [
            "script", "link", "img", "iframe", "object", "embed", "image", "use", "a",
        ];
        assert!(!active.contains(&name), "{name}");
        for attribute in node.attributes() {
            let name = attribute.name();
            assert!(
                !name.starts_with("on") && name != "href" && name != "src",
                "{name}"
            );
        }
    }
}
