# SPDX-License-Identifier: GPL-3.0-or-later
# What all figures share: terminal by the end of OUT's name, colours, thinning. A script sets `here`
# (its own folder), `folder` (results), `out` and loads this.
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

# Thinning: a point is drawn when it stands more than `fine_y` off the last one drawn, or more than
# `fine_x` behind it; so no peak is cut by more than fine_y. One memory per curve, number `i`.
array LAST_X[9]
array LAST_Y[9]
do for [i = 1:9] { LAST_X[i] = -1e300; LAST_Y[i] = -1e300 }
fine_x = 0.0
fine_y = 0.0
thin(i, x, y) = (abs(y - LAST_Y[i]) > fine_y || abs(x - LAST_X[i]) > fine_x) ? \
                (LAST_X[i] = x, LAST_Y[i] = y, y) : NaN
