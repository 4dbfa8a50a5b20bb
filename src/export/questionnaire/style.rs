//! How the form looks: black on white, ruled lines, boxes to tick; made for A4 and Letter.

/// The style sheet of the page.
pub(super) const STYLE: &str = r#"
@page { margin: 13mm 14mm 15mm; }
* { box-sizing: border-box; }
html { color: #000; background: #fff; }
body { margin: 0; font: 9pt/1.32 "Liberation Sans", Arial, Helvetica, sans-serif; }
main { max-width: 184mm; margin: 0 auto; display: grid; grid-template-columns: 1fr 1fr; gap: 5mm 6mm; align-items: start; }
header, footer, .wide { grid-column: 1 / -1; }
@media screen { body { padding: 12mm 6mm; font-size: 11pt; } main { max-width: 225mm; } }
@media screen and (max-width: 170mm) { main { display: block; } .block { margin-top: 6mm; } }
h1 { font: bold 21pt/1.1 "Liberation Serif", Georgia, "Times New Roman", serif; margin: 0; }
.kicker { margin: 0 0 1mm; font-weight: bold; letter-spacing: .04em; }
.band { font: italic 13pt/1.2 "Liberation Serif", Georgia, "Times New Roman", serif; margin: 1mm 0 3mm; }
header { border-top: 1.6pt solid #000; padding-top: 2.5mm; }
.signed { display: grid; grid-template-columns: 1.3fr .8fr 1.3fr; gap: 5mm; margin-bottom: 3mm; }
.signed p { margin: 0; display: flex; gap: 1.5mm; align-items: baseline; }
.signed label { white-space: nowrap; font-weight: bold; }
.signed input { flex: 1; min-width: 0; }
header > p { margin-block: 0 2mm; }
header > .band { margin: 1mm 0 3mm; }
.how { margin: 2.5mm 0 0; display: grid; grid-template-columns: 1.25fr 1.25fr 1fr; gap: 5mm; font-size: 8pt; }
@media screen { .how { font-size: 9.5pt; } }
.how dt { font-weight: bold; border-bottom: .6pt solid #000; margin-bottom: .8mm; }
.how dd { margin: 0; }
.block { border: .8pt solid #000; break-inside: avoid; }
h2 { font: bold 12pt/1.2 "Liberation Serif", Georgia, "Times New Roman", serif; margin: 0; padding: 1.4mm 2.2mm; border-bottom: .8pt solid #000; }
.instrument { font-weight: normal; font-style: italic; font-size: 9.5pt; margin-left: 1.5mm; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; }
table + table { border-top: .8pt solid #000; }
th, td { text-align: left; vertical-align: top; padding: 1mm 2.2mm; border-top: .35pt solid #888; font-weight: normal; }
tbody tr:first-child > * { border-top: 0; }
thead th { font-weight: bold; border-top: 0; border-bottom: .5pt solid #000; padding-block: .8mm; }
th + th, td { border-left: .35pt solid #888; }
.narrow tr > :first-child { width: 45%; }
.wide tr > :first-child { width: 27%; }
.ask { font-weight: bold; }
code { font: 7pt "Liberation Mono", "Courier New", monospace; color: #444; }
.help { display: block; font-size: 7.4pt; line-height: 1.22; }
.taken { margin: .6mm 0 0; font-size: 7.4pt; line-height: 1.22; }
.unit { font-size: 8pt; }
@media screen { code, .help, .taken { font-size: 9pt; } .unit { font-size: 10pt; } }
input[type="text"], textarea { font: inherit; color: #000; background: #fff; border: 0; border-radius: 0; padding: 0 .6mm; }
input[type="text"] { border-bottom: .6pt solid #000; height: 1.5em; vertical-align: baseline; }
.short { width: 13mm; text-align: center; }
.long { width: 100%; }
textarea { display: block; width: 100%; resize: vertical; line-height: 4.6mm; padding: 0; overflow: hidden;
  background: repeating-linear-gradient(#fff 0 calc(4.6mm - .6pt), #777 calc(4.6mm - .6pt) 4.6mm); background-attachment: local;
  print-color-adjust: exact; -webkit-print-color-adjust: exact; }
@media screen { textarea { line-height: 6mm; background-image: repeating-linear-gradient(#fff 0 calc(6mm - 1px), #777 calc(6mm - 1px) 6mm); } .short { width: 17mm; } }
.tick { white-space: nowrap; margin-right: 3mm; display: inline-flex; gap: 1.4mm; align-items: center; }
input[type="checkbox"] { appearance: none; -webkit-appearance: none; width: 3.3mm; height: 3.3mm; border: .8pt solid #000; margin: 0; display: inline-grid; place-content: center; background: #fff; }
input[type="checkbox"]:checked::before { content: "\00d7"; font: bold 12pt/3.3mm "Liberation Sans", Arial, sans-serif; }
input:focus-visible, textarea:focus-visible { outline: 2pt solid #000; outline-offset: 1pt; }
#rest ~ .ask { margin: 1.5mm 2.2mm 1mm; font-weight: normal; }
#whole { width: calc(100% - 4.4mm); margin: 0 2.2mm 2mm; }
footer { border-top: .8pt solid #000; font-size: 8pt; break-inside: avoid; }
footer p { margin: 1.5mm 0 0; }
.hidden { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
"#;
