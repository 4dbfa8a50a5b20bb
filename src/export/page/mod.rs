//! A page as plain blocks, and the two ways in which it is written: as HTML that needs nothing else and prints well,
//! and as Markdown. Both write the same blocks, so that they tell the same.

mod html;
mod markdown;
mod style;

pub use html::html_page;
pub use markdown::markdown_page;

use std::path::Path;

/// In which form a page leaves.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PageForm {
    /// HTML, to print or to read on a screen.
    Html,
    /// Markdown.
    Markdown,
}

impl PageForm {
    /// The form that the name of a file asks for; `None` where it asks for neither.
    ///
    /// ```
    /// use bandwright::export::page::PageForm;
    /// use std::path::Path;
    /// assert_eq!(PageForm::of(Path::new("sheet.HTML")), Some(PageForm::Html));
    /// assert_eq!(PageForm::of(Path::new("sheet.md")), Some(PageForm::Markdown));
    /// assert_eq!(PageForm::of(Path::new("sheet.pdf")), None);
    /// ```
    #[must_use]
    pub fn of(path: &Path) -> Option<Self> {
        let end = path.extension()?.to_string_lossy().to_lowercase();
        match end.as_str() {
            "html" | "htm" | "xhtml" => Some(Self::Html),
            "md" | "markdown" => Some(Self::Markdown),
            _ => None,
        }
    }
}

/// A text on one line: control characters and ends of lines become blanks.
fn on_one_line(text: &str) -> String {
    let blank = |c: char| c.is_control() || matches!(c, '\u{2028}' | '\u{2029}');
    let plain: String = text
        .chars()
        .map(|c| if blank(c) { ' ' } else { c })
        .collect();
    plain.trim().to_owned()
}

/// A whole page.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Page {
    /// Its title.
    pub title: String,
    /// What stands under it, a line each.
    pub under: Vec<String>,
    /// Its sections.
    pub sections: Vec<PageSection>,
    /// Whether it shows notation, so that the music font goes with it.
    pub notation: bool,
}

/// A section with a heading.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct PageSection {
    /// A word for links and styles.
    pub id: &'static str,
    /// The heading.
    pub title: String,
    /// What stands in it.
    pub blocks: Vec<Block>,
}

/// Something that stands in a section.
#[derive(Clone, PartialEq, Debug)]
pub enum Block {
    /// A paragraph.
    Text(String),
    /// A paragraph in small print.
    Small(String),
    /// Points.
    List(Vec<String>),
    /// Names with what is said of each.
    Facts(Vec<(String, Vec<String>)>),
    /// Rows and columns.
    Table(Table),
    /// A block that is not cut by the edge of a page.
    Card(Card),
    /// A drawing, with the same in rows.
    Figure(Figure),
    /// Systems of notation, one element each; Markdown cannot show them and says so.
    Notation(Vec<String>),
}

/// Rows and columns.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Table {
    /// A word for styles.
    pub class: &'static str,
    /// The heads of the columns, and whether numbers stand in it.
    pub head: Vec<(&'static str, bool)>,
    /// The cells, row by row.
    pub rows: Vec<Vec<String>>,
}

/// A block with a heading of its own.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Card {
    /// The heading.
    pub title: String,
    /// What stands beside it.
    pub under: String,
    /// A drawing at the left.
    pub figure: Option<Figure>,
    /// What stands under the drawing.
    pub left: Vec<Block>,
    /// What stands at the right of it.
    pub blocks: Vec<Block>,
}

/// A drawing.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Figure {
    /// The element that shows it; it tells every number of the table, too.
    pub svg: String,
    /// What is seen, in words.
    pub caption: String,
    /// The same in rows.
    pub table: Table,
}
