//! How pages look: black and grey on white, made for A4 and Letter, and to be read on a screen.

/// The style sheet of a page.
pub(super) const STYLE: &str = r#"
@page { margin: 13mm 13mm 14mm; }
* { box-sizing: border-box; }
html { color: #111; background: #fff; }
body { margin: 0; font: 8.6pt/1.3 "Liberation Sans", Arial, Helvetica, sans-serif; }
main { max-width: 184mm; margin: 0 auto; }
h1, h2, h3 { font-family: "Liberation Serif", "Times New Roman", Times, serif; line-height: 1.12; margin: 0; }
header { border-top: 2pt solid #111; padding-top: 2mm; margin-bottom: 4mm; }
h1 { font-size: 22pt; margin-bottom: 1mm; }
.under { margin: 0; font-size: 9.6pt; color: #333; }
.under:first-of-type { font: italic 12pt/1.3 "Liberation Serif", "Times New Roman", Times, serif; color: #111; }
section { margin: 0 0 5mm; }
h2 { font-size: 13.5pt; border-bottom: .8pt solid #111; padding-bottom: .6mm; margin-bottom: 2mm; break-after: avoid; }
p { margin: 0 0 1.6mm; }
.small, figcaption { font-size: 7.6pt; line-height: 1.28; color: #444; }
ul { margin: 0 0 2mm; padding-left: 4.2mm; }
li { margin: 0 0 .8mm; }
table { border-collapse: collapse; width: 100%; margin: 0 0 2mm; }
th, td { text-align: left; vertical-align: top; padding: .8mm 2mm .8mm 0; border-bottom: .35pt solid #999; }
th { font-size: 7.6pt; line-height: 1.2; color: #333; border-bottom: .6pt solid #111; vertical-align: bottom; }
td:first-child { font-weight: bold; white-space: nowrap; }
h2 + .small { break-after: avoid; }
th.number, td.number { text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }
tr { break-inside: avoid; }
thead { display: table-header-group; }
.card { border-top: .8pt solid #111; padding: 1.2mm 0 2mm; break-inside: avoid; }
h2 + .small + .card { border-top: 0; }
h3 { font-size: 11.5pt; margin-bottom: 1mm; }
.beside { font: 8.4pt/1.2 "Liberation Sans", Arial, Helvetica, sans-serif; color: #444; margin-left: 2mm; }
.beside-figure { display: grid; grid-template-columns: 72mm minmax(0, 1fr); gap: 5mm; align-items: start; }
.drawn dl { margin-top: .6mm; }
.card dl { font-size: 8pt; line-height: 1.26; }
figure { margin: 0; }
figure svg { display: block; width: 100%; height: auto; }
dl { margin: 0; }
dl > div { display: grid; grid-template-columns: 13mm minmax(0, 1fr); gap: 0 1.5mm; margin-bottom: .5mm; }
dt { font-weight: bold; grid-row: 1 / span 20; }
dd { margin: 0 0 .3mm; grid-column: 2; }
#rehearse td:nth-child(3), .band td:nth-child(2), #spots td:nth-child(2), .findings td:nth-child(1) { white-space: nowrap; }
#rehearse td:nth-child(2) { width: 44mm; }
#parts { break-before: page; }
#care { break-inside: avoid; border: .8pt solid #111; padding: 2mm 3mm 1mm; }
#care h2 { border: 0; margin-bottom: 1mm; padding: 0; }
@media screen {
  body { padding: 10mm 5mm; font-size: 11pt; }
  main { max-width: 230mm; }
  .small, figcaption, th,   .beside, .card dl { font-size: 10.5pt; }
  .beside-figure { grid-template-columns: 88mm minmax(0, 1fr); }
  dl > div { grid-template-columns: 19mm minmax(0, 1fr); }
}
@media screen and (max-width: 170mm) {
  .beside-figure { grid-template-columns: minmax(0, 1fr); }
  section { overflow-x: auto; }
}
"#;

/// What a page with notation has besides.
pub(super) const NOTATION: &str = r#".line { break-inside: avoid; margin: 0 0 2.2mm; }
.system { display: block; width: 100%; height: auto; stroke: #111; fill: #111; }
.system text { stroke: none; }
.system path, .system rect, .system circle { fill: none; }
.system rect, .system circle, .system .f { fill: #111; stroke: none; }
.m { font-family: "Signs of Music"; }
.d, .u, .n, .t, .r, .k { font-family: "Liberation Serif", "Times New Roman", Times, serif; }
.d { font-size: 28px; font-weight: bold; text-anchor: middle; }
.u { font-size: 18px; font-style: italic; text-anchor: middle; }
.n { font-size: 15px; }
.t { font-size: 19px; font-weight: bold; }
.w { font: italic 19px "Liberation Serif", "Times New Roman", Times, serif; }
.r { font-size: 20px; font-weight: bold; text-anchor: middle; }
.system .k { font-size: 14px; font-weight: bold; text-anchor: middle; fill: #fff; }
"#;
