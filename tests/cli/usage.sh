# SPDX-License-Identifier: GPL-3.0-or-later
# Usage, help, unknown words.

test_case "no_arguments_tell_purpose_usage_and_example"
run
exits 2
no_out
err_lines 4
err 'usage: brakeweave'
err 'example: brakeweave run'
err '--help'
test_end

for form in --help -h; do
  test_case "help_$form"
  run $form
  exits 0
  no_err
  first_out 'Example:'
  out 'run '
  out 'check '
  out 'list '
  out '130 interrupted'
  test_end
done

for verb in run check list; do
  test_case "help_of_$verb"
  run $verb --help
  exits 0
  no_err
  first_out 'Example:'
  out "Usage: brakeweave $verb"
  out '--help'
  cp out long
  run $verb some words --help -h
  exits 0
  same out long
  test_end
done

test_case "help_of_every_verb_fits_100_columns"
verbs=$("$program" --help | sed -n '/^Verbs:/,/^$/s/^  \([a-z]*\) .*/\1/p')
[ "$(echo "$verbs" | wc -l)" -ge 10 ] || note "verbs are missing: $verbs"
for verb in $verbs; do
  run "$verb" --help
  exits 0
  awk -v verb="$verb" 'length > 100 { print verb ": " length ": " $0 }' out >wide
  [ ! -s wide ] || note "wider: $(cat wide)"
done
test_end

test_case "version"
run --version
exits 0
no_err
grep -qE '^brakeweave [0-9]+\.[0-9]+\.[0-9]+$' out || note "no version on standard output"
test_end

test_case "unknown_verb_names_the_nearest"
run chek
refuses "unknown verb 'chek'; did you mean 'check'?"
test_end

test_case "unknown_verb_far_from_all"
run frobnicate
refuses "unknown verb 'frobnicate'"
test_end

test_case "unknown_option_before_the_verb"
run --versoin
refuses "unknown option '--versoin'; did you mean '--version'?"
test_end

test_case "unknown_option_names_the_nearest"
run run x.cfg --stratgy series
refuses "unknown option '--stratgy'; did you mean '--strategy'?"
run run x.cfg --formt=csv
refuses "unknown option '--formt'; did you mean '--format'?"
test_end

test_case "unknown_letter"
run run x.cfg -Z
refuses "unknown option '-Z'"
test_end

test_case "option_without_its_value"
run run x.cfg --out
refuses "option '--out' needs a value"
run run x.cfg --out --quiet
refuses "option '--out' needs a value"
test_end

test_case "flag_with_a_value"
run run x.cfg --quiet=yes
refuses "option '--quiet' takes no value"
test_end

test_case "option_given_twice"
run run x.cfg --format csv --format=json
refuses "option '--format' is given twice"
test_end

test_case "case_missing_on_the_command_line"
run run
refuses 'no case file given'
run check --
refuses 'no case file given'
test_end

test_case "one_case_too_many"
run run a.cfg b.cfg
refuses "superfluous word 'b.cfg'"
test_end

test_case "two_dashes_end_the_options"
make_case "$work/--quiet"
run check -- --quiet
exits 0
out 'is sound'
rm -f -- "$work/--quiet"
test_end

test_case "hostile_words_stay_one_line"
run "$(printf 'ru\nn\033[31m')"
refuses 'unknown verb'
test_end
