# SPDX-License-Identifier: GPL-3.0-or-later
# The report page: whole, self-contained, its numbers those of the CSV, and what it refuses.
# shellcheck shell=sh disable=SC2154 # program, root and status come from run.sh and lib.sh

# FILE TEXT...: the page holds each text
page_holds() {
  page=$1
  shift
  for text in "$@"; do
    grep -qF -e "$text" "$page" || note "$page does not hold: $text"
  done
}

run run stop.cfg --strategy series --strategy parallel --out told-of

test_case "report_is_one_page_with_every_section"
run report told-of -o page.html
exits 0
no_out
no_err
[ "$(head -n 1 page.html)" = '<!DOCTYPE html>' ] || note "no document type"
tail -n 1 page.html | grep -q '</html>' || note "the page is cut off"
for section in verdict strategies figures handovers balance ledger assumptions inputs cautions; do
  page_holds page.html "<h2 id=\"$section\">"
done
page_holds page.html '<html lang="en">' 'width=device-width' '@page{size:A4' '<caption>' 'scope="col"' \
  '2 of 2 strategies kept every acceptance limit' 'cg_height_m = ' '0 figures.'
[ "$(grep -c '<table>' page.html)" -eq 4 ] || note "not four tables"
! grep -qiE '<script|<link|https?://| src="[^d]' page.html || note "something from outside"
test_end

test_case "report_carries_the_numbers_of_the_csv"
for column in energy_battery_kj dip_peak_mps2 axle_margin_worst recovered_share; do
  awk -F, -v name="$column" 'NR == 1 { for (i = 1; i <= NF; i++) if ($i == name) c = i }
    NR > 1 && $c != "" { printf "<td class=\"n\">%.6g</td>\n", $c }' told-of/summary.csv >wanted
  [ -s wanted ] || note "no $column in the summary"
  while read -r cell; do
    page_holds page.html "$cell"
  done <wanted
done
[ "$(sed -n '/id="handovers"/,/id="balance"/p' page.html | grep -c '<tr><th scope="row">')" -eq \
  "$(($(wc -l <told-of/handovers.csv) - 1))" ] || note "hand-overs are missing"
test_end

test_case "report_verdict_tells_a_missed_limit"
run run stop.cfg --strategy series --set accept.dip_peak_mps2_max=0.000001 --out missed
exits 1
run report missed -o missed.html
exits 0
page_holds missed.html '0 of 1 strategies kept' 'dip_peak_mps2'
test_end

test_case "report_escapes_what_it_reads"
cp -r told-of hostile
for table in summary handovers ledger; do
  sed 's/^series,/"<script>alert(1)<\/script>""&'"'"', Größe",/' told-of/$table.csv |
    sed "s/&/\\&/" >hostile/$table.csv
done
echo '# </pre><img src=x onerror=alert(1)>' >>hostile/resolved.cfg
run report hostile -o hostile.html
exits 0
page_holds hostile.html '&lt;script&gt;alert(1)&lt;/script&gt;&quot;' 'Größe' \
  '&lt;/pre&gt;&lt;img src=x onerror'
! grep -qE '<script|<img src=x' hostile.html || note "markup came through"
test_end

test_case "report_refuses_what_it_cannot_tell"
mkdir -p hollow-results
run report hollow-results -o never.html
refuses 'hollow-results: is no results folder; '
run report told-of
refuses 'no page named; '
run report told-of -o nowhere/never.html
refuses 'nowhere/never.html: cannot be written; '
cp -r told-of old-results
rm old-results/ledger.csv
run report old-results -o never.html
refuses 'old-results/ledger.csv: no such file; '
cp told-of/ledger.csv old-results/
sed '1s/axle_margin_worst/margin/' told-of/summary.csv >old-results/summary.csv
run report old-results -o never.html
refuses "old-results/summary.csv:1: column 'axle_margin_worst' is missing; "
cp told-of/summary.csv old-results/
echo 'series,1' >>old-results/handovers.csv
run report old-results -o never.html
refuses 'the row is not as long as the header; '
absent never.html
test_end

if ! command -v gnuplot >/dev/null; then
  test_case "report_shows_the_figures"
  test_skip
else
  test_case "report_shows_the_figures"
  run plot told-of
  run report told-of -o drawn.html
  exits 0
  page_holds drawn.html '9 figures.' 'alt="Braking energy by strategy' \
    'alt="Hand-over with the deepest dip, strategy series"'
  grep -o 'base64,[A-Za-z0-9+/=]*' drawn.html | head -n 1 | cut -c8- | base64 -d >first.svg ||
    note "the figure's bytes do not decode"
  same first.svg told-of/figures/energy.svg
  [ "$(wc -c <drawn.html)" -lt 3145728 ] || note "larger than 3 MiB"
  touch -d '2001-01-01' told-of/figures/*.svg
  run report told-of -o stale.html
  page_holds stale.html '0 figures.'
  test_end
fi
