//! How the form looks: black on white, ruled lines, boxes to tick; made for A4 and Letter.

/// The style sheet of the page.
pub(super) const STYLE: &str = r#"
@page { margin: 12mm 13mm 13mm; }
* { box-sizing: border-box; }
html { color: #000; background: #fff; }
body { margin: 0; font: 8.6pt/1.25 "Liberation Sans", Arial, Helvetica, sans-serif; }
main { max-width: 186mm; margin: 0 auto; display: grid; grid-template-columns: repeat(2, minmax(0, 1fr)); grid-auto-flow: dense; gap: 3.5mm 5mm; align-items: start; }
header, footer, .wide { grid-column: 1 / -1; }
h1, .band, h2 { font-family: "Liberation Serif", Georgia, "Times New Roman", serif; }
header { border-top: 1.6pt solid #000; padding-top: 2mm; }
header p { margin: 0 0 1.6mm; }
h1 { font-size: 20pt; line-height: 1.1; margin: 0; }
header .band { font-style: italic; font-size: 13pt; margin: .5mm 0 2.5mm; }
.signed { display: grid; grid-template-columns: 3fr 2fr 3fr; gap: 5mm; margin-bottom: 3mm; }
.signed p { margin: 0; display: flex; gap: 1.5mm; align-items: baseline; min-width: 0; }
.signed label { white-space: nowrap; font-weight: bold; }
.signed input { flex: 1; min-width: 0; width: 0; }
.how { margin: 2mm 0 0; padding: 1.6mm 0; border-block: .6pt solid #000; columns: 3; column-gap: 5mm; font-size: 7.6pt; line-height: 1.22; }
.how div { break-inside: avoid; padding-bottom: .9mm; }
.how dt { font-weight: bold; }
.how dd { margin: 0; }
code { font: 6.6pt "Liberation Mono", "Courier New", monospace; color: #333; }
.block { border: .8pt solid #000; break-inside: avoid; }
h2 { font-size: 11.5pt; line-height: 1.1; margin: 0; padding: .8mm 2mm; border-bottom: .8pt solid #000; }
.instrument { font-weight: normal; font-style: italic; font-size: 9pt; margin-left: 1.5mm; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; }
table + table { border-top: .8pt solid #000; }
th, td { text-align: left; vertical-align: baseline; padding: .45mm 2mm; border-top: .35pt solid #777; height: 4.9mm; }
th + th, td { border-left: .35pt solid #777; }
tbody tr:first-child > * { border-top: 0; }
thead th { border-top: 0; border-bottom: .5pt solid #000; }
.question { width: 24mm; }
tr > :first-child { padding-right: 0; }
.taken { margin: .4mm 0 0; font-size: 7.2pt; line-height: 1.2; }
input[type="text"], textarea { font: inherit; color: #000; background: transparent; border: 0; border-radius: 0; padding: 0 .6mm; }
input[type="text"] { border-bottom: .6pt solid #000; height: 1.35em; vertical-align: baseline; }
.short { width: 12mm; text-align: center; }
.long { width: 100%; }
textarea { display: block; width: 100%; line-height: 3.8mm; padding: 0; margin: 0 0 .3mm; overflow: hidden; resize: none; border-bottom: .6pt solid #000; }
.tick { white-space: nowrap; margin-right: 3mm; display: inline-flex; gap: 1.3mm; align-items: center; }
input[type="checkbox"] { appearance: none; -webkit-appearance: none; width: 3mm; height: 3mm; border: .8pt solid #000; margin: 0; position: relative; background: #fff; }
input[type="checkbox"]:checked::before { content: "\00d7"; position: absolute; inset: 0; margin: -.4mm; text-align: center; font: bold 11pt/3mm "Liberation Sans", Arial, sans-serif; }
input:focus-visible, textarea:focus-visible { outline: 2pt solid #000; outline-offset: 1pt; }
.whole { padding: 1.2mm 2mm 2mm; }
.whole label { display: block; margin-bottom: 1mm; }
footer { border-top: .8pt solid #000; font-size: 8pt; break-inside: avoid; }
footer p { margin: 1.5mm 0 0; }
.hidden { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
@media screen {
  body { padding: 10mm 5mm; font-size: 11pt; }
  main { max-width: 230mm; gap: 6mm; }
  .how, footer { font-size: 9.5pt; }
  code, .taken { font-size: 9pt; }
  .question { width: 32mm; }
  .short { width: 17mm; }
  textarea { line-height: 5.4mm; resize: vertical; overflow: auto; }
}
@media screen and (max-width: 190mm) { main { display: block; } .block { margin-top: 6mm; overflow-x: auto; } .how { columns: 1; } .signed { display: block; } }
"#;
