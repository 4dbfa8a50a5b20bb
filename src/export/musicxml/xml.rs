//! Elements of an XML text, written one after the other.

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

/// Attributes of an element with their values.
pub(super) type Attributes<'a> = &'a [(&'a str, &'a str)];

/// An XML text that is being written. What failed first is told at the end.
pub(super) struct Xml {
    writer: Writer<Vec<u8>>,
    failed: Option<std::io::Error>,
    /// An element that begins with whatever comes first in it.
    waiting: Option<&'static str>,
}

impl Xml {
    /// A text with nothing but its first line.
    pub(super) fn new() -> Self {
        let mut xml = Self {
            writer: Writer::new_with_indent(Vec::new(), b' ', 1),
            failed: None,
            waiting: None,
        };
        xml.event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)));
        xml
    }

    /// An element with others inside.
    pub(super) fn inside(
        &mut self,
        name: &str,
        attributes: Attributes<'_>,
        content: impl FnOnce(&mut Self),
    ) {
        self.event(Event::Start(start(name, attributes)));
        content(self);
        self.event(Event::End(BytesEnd::new(name)));
    }

    /// An element with others inside, unless there are none.
    pub(super) fn inside_if_any(&mut self, name: &'static str, content: impl FnOnce(&mut Self)) {
        self.waiting = Some(name);
        content(self);
        if self.waiting.take().is_none() {
            self.event(Event::End(BytesEnd::new(name)));
        }
    }

    /// An element with text inside. Characters that XML 1.0 forbids are left out.
    pub(super) fn text(&mut self, name: &str, text: &str) {
        self.text_with(name, &[], text);
    }

    /// The same with attributes.
    pub(super) fn text_with(&mut self, name: &str, attributes: Attributes<'_>, text: &str) {
        self.event(Event::Start(start(name, attributes)));
        self.event(Event::Text(BytesText::new(&allowed(text))));
        self.event(Event::End(BytesEnd::new(name)));
    }

    /// An element with a number inside.
    pub(super) fn number(&mut self, name: &str, number: impl Into<i128>) {
        self.text(name, &number.into().to_string());
    }

    /// An element with nothing inside.
    pub(super) fn empty(&mut self, name: &str, attributes: Attributes<'_>) {
        self.event(Event::Empty(start(name, attributes)));
    }

    /// The text, which ends with a line end.
    pub(super) fn finish(self) -> std::io::Result<Vec<u8>> {
        if let Some(error) = self.failed {
            return Err(error);
        }
        let mut bytes = self.writer.into_inner();
        bytes.push(b'\n');
        Ok(bytes)
    }

    fn event(&mut self, event: Event<'_>) {
        if let Some(name) = self.waiting.take() {
            self.event(Event::Start(BytesStart::new(name)));
        }
        if self.failed.is_none() {
            self.failed = self.writer.write_event(event).err();
        }
    }
}

fn start<'a>(name: &'a str, attributes: Attributes<'a>) -> BytesStart<'a> {
    BytesStart::new(name).with_attributes(attributes.iter().copied())
}

/// A text without what XML 1.0 forbids (section 2.2, Characters), its line ends as readers give them
/// back (section 2.11).
pub(super) fn allowed(text: &str) -> String {
    let fits = |c: &char| matches!(c, '\t' | '\n' | ' '..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..);
    let lines = text.replace("\r\n", "\n").replace('\r', "\n");
    lines.chars().filter(fits).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_escaped_and_what_xml_forbids_is_left_out() {
        let mut xml = Xml::new();
        xml.text_with(
            "a",
            &[("b", "\"<")],
            "1 < 2 & \u{0}\u{b}\u{fffe}\u{1f3ba}\r\n]]>",
        );
        let text = String::from_utf8(xml.finish().unwrap()).unwrap();
        let tree = roxmltree::Document::parse(&text).unwrap();
        assert_eq!(tree.root_element().text(), Some("1 < 2 & \u{1f3ba}\n]]>"));
        assert_eq!(tree.root_element().attribute("b"), Some("\"<"));
    }
}
