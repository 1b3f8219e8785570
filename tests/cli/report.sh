# SPDX-License-Identifier: GPL-3.0-or-later
# The report page: whole, self-contained, of every kind of results, and what it refuses. What a
# browser makes of it: tests/browser.
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
for section in requirements faults sweep; do
  ! grep -q "<h2 id=\"$section\">" page.html || note "$section without a file for it"
done
page_holds page.html '<html lang="en">' 'width=device-width' 'size: A4' '<caption ' 'scope="col"' \
  '2 of 2 strategies kept every acceptance limit' 'cg_height_m = ' '0 figures.' \
  'of the braking work that its run demanded' \
  '<title>Brake blending report: stop</title>'
[ "$(grep -c '<table ' page.html)" -eq 7 ] || note "not seven tables"
# the one address is the name of SVG
! grep -oiE '<link|https?://[a-z0-9.]*| src=' page.html | grep -qv '^http://www\.w3\.org$' || note "something from outside"
test_end

# the page's policy lets its own script run and nothing else
test_case "report_policy_names_its_script"
sed -n '/<script>/,/<\/script>/p' page.html | sed '1s/.*<script>//; $s/<\/script>.*//' >script.js
# the last line feed stands before the closing tag
[ "$(tail -c 1 script.js | od -An -tx1 | tr -d ' ')" = 0a ] || note "script is cut"
hash=$(sed '$d' script.js | sha256sum | cut -c 1-64)
named=$(sed -n "s/.*script-src 'sha256-\([^']*\)'.*/\1/p" page.html | base64 -d | od -An -v -tx1 | tr -d ' \n')
[ -n "$named" ] && [ "$named" = "$hash" ] || note "policy names $named, script is $hash"
[ "$(grep -c '<script' page.html)" -eq 1 ] || note "not one script"
test_end

# 64-bit FNV-1a of all bytes, worked out by awk's exact integers in two halves
test_case "report_names_every_file_with_its_hash"
for file in told-of/*.csv told-of/resolved.cfg; do
  page_holds page.html "<th scope=\"row\">$(basename "$file")</th>"
  bytes=$(wc -c <"$file")
  page_holds page.html "<td class=\"n\">$((bytes))</td></tr>"
done
[ "$(grep -c '<td><code>' page.html)" -eq "$(ls told-of/*.csv told-of/*.cfg | wc -l)" ] || note "not one hash per file"
if command -v python3 >/dev/null; then
  for file in told-of/summary.csv told-of/trace-series.csv told-of/resolved.cfg; do
    hash=$(python3 -c 'import sys
h = 0xcbf29ce484222325
for b in open(sys.argv[1], "rb").read():
    h = (h ^ b) * 0x100000001b3 & 0xffffffffffffffff
print("%016x" % h)' "$file")
    page_holds page.html "<th scope=\"row\">$(basename "$file")</th><td><code>$hash</code>"
  done
fi
test_end

test_case "report_carries_the_numbers_of_the_csv"
for figure in energy_battery_kj:%.1f dip_peak_mps2:%.3f axle_margin_worst:%.4f stopping_distance_m:%.2f; do
  awk -F, -v name="${figure%:*}" -v format="<td class=\"n\">${figure#*:}</td>\n" '
    NR == 1 { for (i = 1; i <= NF; i++) if ($i == name) c = i }
    NR > 1 && $c != "" { printf format, $c }' told-of/summary.csv >wanted
  [ -s wanted ] || note "no $figure in the summary"
  while read -r cell; do
    page_holds page.html "$cell"
  done <wanted
done
[ "$(sed -n '/id="table-handovers"/,/<\/table>/p' page.html | grep -c '<tr data-row')" -eq \
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
[ "$(grep -c '<script' hostile.html)" -eq 1 ] || note "a script came through"
! grep -q '<img' hostile.html || note "markup came through"
test_end

test_case "report_tells_of_assess_faults_and_sweeps"
cp -r told-of whole
printf '%s\n' 'strategy,requirement,limit,result,margin,unit,outcome,note,source,paragraph,certainty' \
  'series,cold_stop,70,71.5,-1.5,m,missed,,UN R13-H,Annex 3,quoted' \
  'series,other,,3,,s,not assessed,no data,,,no limit' >whole/assess.csv
printf '%s\n' 'fault,condition,battery.soc_percent,start_s,lost_mps2,gained_mps2,further_m,speed_left_kmh,status,reason' \
  'machine-trip,1,80,0.5,4.5,0,11.25,40,done,' 'message-lost,1,80,,,,,,failed,no time' >whole/faults.csv
run report whole -o whole.html
exits 0
page_holds whole.html '0 kept, 1 missed, 1 not assessed' 'series misses cold_stop' \
  '2 pairs of fault and condition tried, 1 could not be driven; worst is machine-trip with 11.25 m further' \
  '<h2 id="requirements">' '<h2 id="faults">' 'UN R13-H, Annex 3: quoted'
run sweep stop.cfg --strategy series --over battery.soc_percent=50,95 --out told-sweep
run report told-sweep -o sweep.html
exits 0
page_holds sweep.html "lead good\">Sweep: 2 runs; verdict 'missed' 0, 'not ranked' 0, failed 0" \
  'id="table-statistics"' '<dt>case</dt><dd>stop</dd>' 'Every parameter as sweep used it'
rm told-sweep/sweep-resolved.cfg
run report told-sweep -o sweep.html
exits 0
page_holds sweep.html 'no resolved.cfg'
! grep -q '<h2 id="strategies">' sweep.html || note "strategies without a summary"
test_end

# each verb's folder says of which case and car it is, in the form of a run's resolved.cfg
test_case "every_verb_leaves_its_parameters"
set -- --strategy series --set battery.soc_percent=63
run run stop.cfg "$@" --no-trace --out verb-run
run assess stop.cfg "$@" --out verb-assess
run faults stop.cfg "$@" --fault machine-trip --over road.grade_percent=0,-3 --moments 2 --out verb-faults
run sweep stop.cfg "$@" --over road.grade_percent=0,-3 --out verb-sweep
run sweep stop.cfg "$@" --over road.grade_percent=0,-1,-2 --find 'dip_peak_mps2>0' --along road.grade_percent --out verb-find
for verb in assess faults sweep; do
  same verb-run/resolved.cfg verb-$verb/$verb-resolved.cfg
done
same verb-run/resolved.cfg verb-find/find-resolved.cfg
for folder in verb-assess verb-faults verb-sweep verb-find; do
  [ -z "$(find $folder -name '*.partial*' -o -name '.partial*')" ] || note "something half-written in $folder"
  run report $folder -o verb.html
  exits 0
  page_holds verb.html '<title>Brake blending report: stop</title>' '<dt>case</dt><dd>stop</dd>' \
    "<dt>car</dt><dd>$(sed -n '/^vehicle: {/,/^}/s/^  name = "\(.*\)";.*/\1/p' verb-run/resolved.cfg)</dd>"
  [ $folder != verb-find ] || page_holds verb.html 'A search has no figures.'
  [ "$(grep -c 'Every parameter as ' verb.html)" -eq 1 ] || note "not one list of parameters for $folder"
done
test_end

# verbs that were given other parameters than the run beside them are not taken for it
test_case "report_tells_verbs_with_other_parameters"
run assess stop.cfg --strategy series --set battery.soc_percent=63 --out verb-run
run report verb-run -o verb.html
exits 0
! grep -q '<dt>but ' verb.html || note "told of other parameters where there are none"
run faults stop.cfg --strategy series --set battery.soc_percent=64 --fault machine-trip \
  --over road.grade_percent=0,-3 --moments 2 --out verb-run
run report verb-run -o verb.html
exits 0
page_holds verb.html '<dt>but faults</dt><dd>stop; ' '; with other battery.soc_percent than run (' \
  'Every parameter as run used it' 'Every parameter as faults used it' '>faults-resolved.cfg</th>'
! grep -q 'as assess used it' verb.html || note "parameters of assess are told twice"
# bounds are worked out by run and sweep alone
run run stop.cfg --strategy series --set battery.soc_percent=63 --no-trace --bounds --out verb-bounds
run assess stop.cfg --strategy series --set battery.soc_percent=63 --out verb-bounds
cp verb-bounds/assess.csv plain-assess.csv
run report verb-bounds -o verb.html
exits 0
! grep -q '<dt>but ' verb.html || note "told of bounds that assess does not know"
run assess stop.cfg --strategy series --set battery.soc_percent=63 --set assess.ceiling=true --out verb-bounds
same plain-assess.csv verb-bounds/assess.csv
run assess stop.cfg --strategy series --set battery.soc_percent=64 --out verb-bounds
run report verb-bounds -o verb.html
page_holds verb.html '; with other battery.soc_percent than run ('
run sweep stop.cfg --strategy series --set battery.soc_percent=63 --over road.grade_percent=0 --out sweep-bounds
cp sweep-bounds/sweep* verb-bounds
run report verb-bounds -o verb.html
page_holds verb.html '<dt>but sweep</dt>' '; with other assess.ceiling than run ('
# a table, keys in groups of the same names, more than are named
printf 'temperature_c,friction\n0,0.4\n700,0.3\n' >pads.csv
run faults stop.cfg --strategy series --set battery.soc_percent=63 --set friction.rear.pad_scale=0.9 \
  --set friction.rear.pad_table=pads.csv --set machine.front.lag_ms=11 --set rotor.rear.depth_mm=5.5 \
  --set road.adhesion=0.7 --set fault.duration_s=0.5 --fault machine-trip --moments 2 --over road.grade_percent=0 --out verb-run
run report verb-run -o verb.html
exits 0
page_holds verb.html \
  '; with other road.adhesion, machine.front.lag_ms, friction.rear.pad_scale, friction.rear.pad_table and 2 more than run ('
# a folder that other verbs and 'plot' wrote into is still one for a run
mkdir -p verb-faults/figures
run run stop.cfg --strategy series --no-trace --out verb-faults
[ "$status" -le 1 ] || note "exit status $status"
exists verb-faults/summary.csv
test_end

# a made-up table: every result, more points than are named
test_case "report_names_the_first_points_of_a_search"
mkdir found-of
{
  echo 'battery.temperature_c,strategy,find,along,result,first,clear,runs,failed,crossings,note'
  echo '20,series,dip_peak_mps2>0.4,road.grade_percent,found,-3.1250000000000004,-3,9,0,1,'
  echo '0,series,dip_peak_mps2>0.4,road.grade_percent,at-start,0,,9,0,0,'
  echo '-5,series,dip_peak_mps2>0.4,road.grade_percent,none,,-8,9,0,0,'
  echo '-9,series,dip_peak_mps2>0.4,road.grade_percent,unknown,,,9,9,0,'
  for i in 1 2 3 4; do
    echo "-1$i,series,dip_peak_mps2>0.4,road.grade_percent,found,-1,0,9,0,1,"
  done
  echo '-20,parallel,dip_peak_mps2>0.4,road.grade_percent,found,-1,0,9,0,1,'
} >found-of/find.csv
run report found-of -o found.html
exits 0
page_holds found.html '9 searches; 7 found a point, 1 none in their range, 1 could not tell' \
  '<li><strong>series: dip_peak_mps2&gt;0.4</strong> first at road.grade_percent -3.125, not yet at -3; with battery.temperature_c 20</li>' \
  '<li><strong>series: dip_peak_mps2&gt;0.4</strong> already at road.grade_percent 0, where the search starts; with battery.temperature_c 0</li>' \
  '<li>and more</li>'
! grep -q '<strong>parallel: ' found.html || note "more points are named than six"
sed -i 3,10d found-of/find.csv
run report found-of -o found.html
exits 0
! grep -q 'and more' found.html || note "tells of more where there is none"
test_end

test_case "report_shows_where_descents_end"
run report verb-assess -o verb.html
exits 0
page_holds verb.html '<h2 id="descents">Long descents</h2>' '<a href="#descents">'
awk -F, 'NR > 1 { key = $1 "," $2 "," $3 "," $4 "," $5; if (key != last && NR > 2) print row; last = key; row = NR - 1 } END { print row }' \
  verb-assess/descent.csv >ends
[ "$(wc -l <ends)" -ge 2 ] || note "fewer than two descents"
sed -n '/id="table-descent-ends"/,/<\/table>/s/^<tr data-row="\([0-9]*\)".*/\1/p' verb.html >shown
same ends shown
[ "$(sed -n '/id="table-descents"/,/<\/table>/p' verb.html | grep -c '<tr data-row')" -eq $((10 * $(wc -l <ends))) ] ||
  note "not ten rows per descent"
test_end

test_case "report_tells_figures_that_are_no_svg"
cp -r told-of with-png
mkdir with-png/figures
touch with-png/figures/energy.png with-png/figures/trade-off.pdf
run report with-png -o with-png.html
exits 0
page_holds with-png.html "<p>0 figures; 2 lie in the folder's figures/ as PNG or PDF only. 'brakeweave plot FOLDER' draws them as SVG"
test_end

test_case "report_is_not_green_for_a_sweep_without_ranked_runs"
run sweep stop.cfg --strategy series --over road.adhesion=0.2,0.3 --out no-grip
run report no-grip -o no-grip.html
exits 0
page_holds no-grip.html "lead bad\">Sweep: 2 runs; verdict 'missed' 0, 'not ranked' 2, failed 0"
test_end

test_case "report_says_how_many_rows_it_leaves_out"
rm -rf long
cp -r told-of long
awk 'NR == 1 { print } NR == 2 { for (i = 0; i < 2600; i++) print }' told-of/handovers.csv >long/handovers.csv
run report long -o long.html
exits 0
page_holds long.html 'The first 2500 of 2600; 100 are left out, handovers.csv holds them all.' 'All 2600 hand-overs'
[ "$(wc -c <long.html)" -lt 3145728 ] || note "larger than 3 MiB"
test_end

test_case "report_refuses_what_it_cannot_tell"
mkdir -p hollow-results
run report hollow-results -o never.html
refuses 'hollow-results: is no results folder; '
run report stop.cfg -o never.html
refuses 'stop.cfg: is no results folder; name one that run, assess, faults, sweep or join made'
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
sed '1s/outcome/verdict/' whole/assess.csv >old-results/assess.csv
run report old-results -o never.html
refuses "old-results/assess.csv:1: column 'outcome' is missing; "
: >old-results/assess.csv
run report old-results -o never.html
refuses 'old-results/assess.csv: no table in it; '
rm old-results/assess.csv
echo 'series,1' >>old-results/handovers.csv
run report old-results -o never.html
refuses 'the row is not as long as the header; '
absent never.html
test_end

test_case "report_replaces_no_table"
for file in summary.csv resolved.cfg; do
  cp told-of/$file before
  run report told-of -o told-of/$file
  refuses "told-of/$file: is there and no page; "
  same told-of/$file before
done
test_end

test_case "report_that_cannot_be_written_leaves_what_was_there"
mkdir -p kept-pages
echo 'an older page' >kept-pages/page.html
(
  ulimit -f 8
  trap '' XFSZ
  "$program" report told-of -o kept-pages/page.html >out 2>err
)
status=$?
exits 4
no_out
err 'kept-pages/page.html: cannot be written whole; '
[ "$(cat kept-pages/page.html)" = 'an older page' ] || note "the older page is gone"
[ "$(ls -A kept-pages)" = page.html ] || note "something was left"
# no file: a device behind a link, which must stay
if [ -c /dev/full ]; then
  ln -s /dev/full kept-pages/full
  run report told-of -o kept-pages/full
  exits 4
  err 'cannot be written whole; '
  [ -L kept-pages/full ] || note "the link is gone"
fi
run report told-of -o kept-pages/page.html
exits 0
grep -q '<html' kept-pages/page.html || note "no new page"
test_end

# figures need not be drawn here: the report takes what lies in figures/
test_case "report_keeps_figures_below_its_size"
mkdir -p long/figures
for figure in energy brake-torque-series force-plane-series waterfall-series; do
  awk 'BEGIN { print "<svg viewBox=\"0 0 900 540\" xmlns=\"http://www.w3.org/2000/svg\"><g><path d=\"M0,0 "
    for (i = 1; i < 90000; i++) printf "L%.2f,%.2f ", i % 900 + 0.1 * (i % 7), (7919 * i) % 540
    print "\"/></g></svg>" }' >long/figures/$figure.svg
done
echo '<svg><g></svg>' >long/figures/adhesion-series.svg
run report long -o full.html
exits 0
page_holds full.html 'more are left out' '1 are no SVG that can be read' 'Braking energy by strategy'
[ "$(wc -c <full.html)" -lt 3145728 ] || note "larger than 3 MiB"
[ "$(wc -c <full.html)" -gt 1048576 ] || note "room is not used"
touch -d '2001-01-01' long/figures/*.svg
run report long -o stale.html
page_holds stale.html '0 figures; 5 are older than the results'
test_end

if ! command -v gnuplot >/dev/null; then
  test_case "report_shows_the_figures"
  test_skip
else
  test_case "report_shows_the_figures"
  run plot told-of
  run report told-of -o drawn.html
  exits 0
  drawn=$(ls told-of/figures/*.svg | wc -l)
  page_holds drawn.html "<p>$drawn figures" 'aria-label="Braking energy by strategy' \
    '<strong>The hand-over with the deepest dip, strategy series.</strong>' 'into the battery</text>'
  [ "$(grep -o '<figure>' drawn.html | wc -l)" -eq "$drawn" ] || note "not a figure each"
  [ "$(wc -c <drawn.html)" -lt 3145728 ] || note "larger than 3 MiB"
  test_end
fi
