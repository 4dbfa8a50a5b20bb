//! The sheet of keys as a page to print.

use super::actions::{ACTIONS, Menu};
use eframe::egui::{KeyboardShortcut, ModifierNames};

/// The page, HTML.
#[must_use]
pub fn key_page(is_mac: bool) -> String {
    let mut page = String::from(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>bandwright: keys</title>\n\
         <style>body{font:11pt sans-serif;columns:2;max-width:60em;margin:2em auto}h2{font-size:12pt;break-after:avoid}\
         table{border-collapse:collapse;break-inside:avoid;margin-bottom:1em}td{padding:.15em .8em .15em 0}\
         td:first-child{white-space:nowrap;font-weight:bold}</style></head><body>\n",
    );
    for menu in Menu::ALL {
        page.push_str(&format!("<h2>{}</h2>\n<table>\n", menu.name()));
        for about in ACTIONS.iter().filter(|a| a.menu == menu) {
            let key = about.key.map_or_else(String::new, |k| said(&k, is_mac));
            page.push_str(&format!("<tr><td>{key}</td><td>{}</td></tr>\n", about.name));
        }
        page.push_str("</table>\n");
    }
    page.push_str("</body></html>\n");
    page
}

fn said(key: &KeyboardShortcut, is_mac: bool) -> String {
    key.format(&ModifierNames::NAMES, is_mac)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_action_stands_on_the_page_with_its_key() {
        let page = key_page(false);
        for about in ACTIONS {
            assert!(page.contains(about.name), "{}", about.name);
        }
        assert!(page.contains("<td>Ctrl+Z</td><td>Undo</td>"), "{page}");
    }
}
