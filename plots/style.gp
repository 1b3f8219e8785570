# SPDX-License-Identifier: GPL-3.0-or-later
# What all figures share: terminal by the end of OUT's name, colours, thinning. A script sets `here`
# (its own folder), `folder` (results), `out`, mostly `strategy`, and loads this.
#
# The same source has the same colour in every figure (Okabe and Ito's colour-blind-safe palette,
# from memory): machines blue, friction orange, the rear axle lighter than the front one. Lines also
# differ by dash, so that they tell apart in grey.

MACHINE_FRONT = "#0072b2"
MACHINE_REAR = "#56b4e9"
FRICTION_FRONT = "#d55e00"
FRICTION_REAR = "#f0c04a"
LOST = "#999999"
RULE = "#009e73"
INK = "#222222"
FAILED = "#bbbbbb"
# maps run from light to dark, so that they read in grey too: blue where more is better, orange
# where more is worse
MORE_IS_BETTER = "0 '#f4f8fc', 0.5 '#56a0d0', 1 '#083d6b'"
MORE_IS_WORSE = "0 '#fff7ef', 0.5 '#ee9a4d', 1 '#7a2f00'"
# strategies side by side: colour, dash and mark by number
array LINES = ["#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00", "#222222", "#999999"]
# as many marks as shapes, for in grey the shape is all there is
array MARKS = [7, 5, 9, 13, 6, 4, 8, 12, 11, 10, 15, 14, 2, 1, 3]
line_of(i) = LINES[1 + (i - 1) % 8]
mark_of(i) = MARKS[1 + (i - 1) % |MARKS|]
dash_of(i) = 1 + (i - 1) % 5

# a leading '<' or '|' would be a command to gnuplot
plain(path) = (path[1:1] eq "/") ? path : "./" . path
folder = plain(folder)
out = plain(out)

set encoding utf8
ending = (strlen(out) > 4) ? out[strlen(out) - 3:] : ""
if (!exists("high")) { high = 540 }
if (ending eq ".png") {
  set terminal pngcairo noenhanced size 900,high font "sans,11" background "#ffffff"
} else { if (ending eq ".pdf") {
  set terminal pdfcairo noenhanced size 9.0in,(high / 100.0)*1in font "sans,11" background "#ffffff"
} else {
  set terminal svg noenhanced size 900,high dynamic font "sans-serif,13" background "#ffffff"
} }
set output out
set datafile separator ","
set datafile missing NaN
set datafile columnheaders
set grid xtics ytics lc rgb "#dddddd" lt 1
set border lc rgb INK
set tics nomirror
set key at screen 0.5, screen 0.02 center bottom vertical maxrows 2
set bmargin 6.5

above(x) = x > 0 ? x : 0
bounded(x, low, top) = x < low ? low : x > top ? top : x

# Thinning to pixels: in each stretch of x of the length `fine_x` a point is drawn when it is the
# first, or when it leaves the range of y drawn so far there by more than `fine_y`; so no peak is cut
# by more than fine_y. One memory per curve, number `i`.
array PIXEL[9]
array LOW_Y[9]
array HIGH_Y[9]
do for [i = 1:9] { PIXEL[i] = -1e300; LOW_Y[i] = 0.0; HIGH_Y[i] = 0.0 }
fine_x = 0.0
fine_y = 0.0
pixel_of(x) = fine_x > 0 ? floor(x / fine_x) : x
thin(i, x, y) = pixel_of(x) != PIXEL[i] ? (PIXEL[i] = pixel_of(x), LOW_Y[i] = y, HIGH_Y[i] = y, y) : \
  y > HIGH_Y[i] + fine_y ? (HIGH_Y[i] = y, y) : y < LOW_Y[i] - fine_y ? (LOW_Y[i] = y, y) : NaN

# Scatter: a point is drawn once per small cell of the figure. One layer per curve, number `i`; a
# script calls for them with `layers` set before it loads this.
WIDE = 160
TALL = 110
if (!exists("layers")) { layers = 0 }
array SEEN[1 + layers * WIDE * TALL]
do for [i = 1:|SEEN|] { SEEN[i] = 0 }
cell_of(part, count) = part < 0 ? 0 : part >= 1 ? count - 1 : int(part * count)
# x and y in parts of the axes, 0 to 1; gives y_shown when the cell was empty
take_cell(c, y) = (SEEN[c] == 0) ? (SEEN[c] = 1, y) : NaN
once(i, x, y, y_shown) = take_cell(1 + ((i - 1) * TALL + cell_of(y, TALL)) * WIDE + cell_of(x, WIDE), y_shown)

# names are cut to what fits, by letters and not bytes
short(name, most) = strlen(name) > most ? name[1:most - 1] . "…" : name

# trace file of `strategy`, which a script sets: what a file name cannot hold stands as %XX
# (a backquote or a dollar sign typed here would not be taken as it is)
PRINTABLE = " !\"#\044%&'()*+,-./0123456789:;<=>?@ABCDEFGHIJKLMNOPQRSTUVWXYZ[\\]^_\140abcdefghijklmnopqrstuvwxyz{|}~"
PLAIN = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_."
coded(c) = strstrt(PRINTABLE, c) == 0 || strstrt(PLAIN, c) > 0 ? c : sprintf("%%%02X", 31 + strstrt(PRINTABLE, c))
if (exists("strategy")) {
  set encoding default # byte by byte
  trace = "trace-"
  do for [i = 1:strlen(strategy)] { if (strlen(trace) + 8 < 256) { trace = trace . coded(strategy[i:i]) } }
  trace = folder . "/" . trace . ".csv"
  set encoding utf8
}

# words of column names for people
spaced(text) = strstrt(text, "_") == 0 ? text : text[1:strstrt(text, "_") - 1] . " " . spaced(text[strstrt(text, "_") + 1:])

# a column with its unit set apart: 'dip_peak_mps2' -> 'dip peak / m/s²'
ends(text, tail) = strlen(text) > strlen(tail) && text[strlen(text) - strlen(tail) + 1:] eq tail
cut(text, tail, unit) = spaced(text[1:strlen(text) - strlen(tail)]) . " / " . unit
labelled(name) = name eq "energy_battery_kj" ? "energy into the battery / kJ" : name eq "dip_peak_mps2" ? "deepest dip / m/s²" : \
  name eq "further_m" ? "further than the sound car / m" : name eq "gained_mps2" ? "unintended deceleration / m/s²" : \
  ends(name, "_kj") ? cut(name, "_kj", "kJ") : ends(name, "_mps2") ? cut(name, "_mps2", "m/s²") : \
  ends(name, "_percent") ? cut(name, "_percent", "%") : ends(name, "_kmh") ? cut(name, "_kmh", "km/h") : \
  ends(name, "_ms") ? cut(name, "_ms", "ms") : ends(name, "_c") ? cut(name, "_c", "°C") : \
  ends(name, "_s") ? cut(name, "_s", "s") : ends(name, "_m") ? cut(name, "_m", "m") : \
  ends(name, "_nm") ? cut(name, "_nm", "N m") : ends(name, "_bar") ? cut(name, "_bar", "bar") : spaced(name)
named(name) = until(labelled(name), " / ")

# gnuplot reads a quoted cell of a CSV up to the first comma or quote in it: a name is compared as
# it would be read
until(text, mark) = strstrt(text, mark) > 0 ? text[1:strstrt(text, mark) - 1] : text
as_read(name) = until(until(name, ","), "\"")
