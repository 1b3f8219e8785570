% SPDX-License-Identifier: GPL-3.0-or-later
% cycle_sums(runs, cycles, page, is_written): what the program sums up over whole cycles, worked
% out again by other means.
%
% The program steps a car with a driver, actuators and a controller through time. Here the car is
% taken to be exactly on the trace and every actuator without delay (drive_car.m), so that forces,
% torques and powers follow from the trace at once. Nothing is shared with the program but the
% numbers of its resolved.cfg and the files of the cycles.
%
%   runs       folders of results, `series` and `friction-only` in each; one whose name ends in
%              '-prompt' was run with actuators that have next to no delay
%   cycles     the cycle's CSV of each run
%   page       path of the table
%   is_written true: write the table; false: test whether it is what would be written
%
% Each figure is a test and prints one line. How far it may be off follows from what is left out
% here:
%   quadrature  integrals of the trace alone: both sides sum steps of no more than 50 ms, in
%               which force x speed is nearly straight: 0.005 %
%   driver      follows the trace within some cm/s, so works differ: 0.2 % with prompt actuators,
%               0.5 % else; the distance 0.05 %
%   exchange    what friction gives later than the machine takes away, here not modelled:
%               sum of |change of machine torque| x lag x axle speed in the fade, lag = dead time
%               and lag of friction, one control period (area law of a dead time and a lag), and
%               the time in which the car loses 1 cm/s, by which the driver may be off the trace
%   release     brakes that let go late brake against the drive: the same sum over the falls of
%               the demand (friction-only)
%   ends        a braking phase begins and ends with a control period: that time the power of
%               auxiliaries and idling machines, twice per phase
function cycle_sums(runs, cycles, page, is_written)
  text = [head_of_page(), sprintf('\n')];
  failed = 0;
  for k = 1:numel(runs)
    [~, name] = fileparts(runs{k});
    rows = rows_of(runs{k}, cycles{k});
    text = [text, sprintf('\n## %s\n\n', name), ...
            sprintf('| figure | program | Octave | off | may be off | for |\n|---|---|---|---|---|---|\n')];
    for i = 1:size(rows, 1)
      failed += judge(['octave_' name '_' regexprep(rows{i, 1}, '[^\w-]+', '_')], rows(i, :));
      text = [text, row_of_page(rows(i, :))];
    end
  end
  if is_written
    file = fopen(page, 'w');
    fputs(file, text);
    fclose(file);
  else
    failed += say('octave_page_is_current', page_is_current(page, text), [page ' is stale']);
  end
  if failed > 0
    exit(1);
  end
end

% the figures of one run: name, the program's, ours, allowance, reason
function rows = rows_of(folder, cycle)
  c = case_numbers(fullfile(folder, 'resolved.cfg'));
  tr = joined_trace(cycle, c.cycle.join_s, 0.01);
  summary = table_of(fullfile(folder, 'summary.csv'));
  ledger = table_of(fullfile(folder, 'ledger.csv'));
  rows = [rows_of_trace(c, tr, summary.series, ledger.series); ...
          rows_of_series(c, tr, summary.series, ledger.series, near(folder)); ...
          rows_of_friction(c, tr, summary.friction_only, near(folder))];
end

% share of a work that the driver may make
function share = near(folder)
  share = 0.005;
  if ~isempty(regexp(folder, '-prompt$'))
    share = 0.002;
  end
end

function rows = rows_of_trace(c, tr, s, books)
  car = car_of(c);
  kj = tr.dt*1e-3;
  road = car.road(1) + car.road(2)*tr.v + car.road(3)*tr.v.^2;
  force = car.mass_effective*tr.a + road;
  trace = sum(max(0, -force).*tr.v)*kj;
  work = sum(road.*tr.v)*kj;
  traction = sum(max(0, force).*tr.v)*kj;
  spent = books.road_load_kj + books.machine_axle_kj + books.friction_front_kj ...
          + books.friction_rear_kj + books.tyre_slip_kj + books.potential_gained_kj ...
          + books.kinetic_end_kj - books.kinetic_start_kj;
  rows = {
    'distance_km', s.distance_km, sum(tr.v)*kj, 0.0005*s.distance_km, 'driver';
    'energy_trace_kj', s.energy_trace_kj, trace, 5e-5*trace, 'quadrature';
    'road_load_kj', books.road_load_kj, work, 0.002*work, 'driver';
    'ledger: drive less all it is spent on, over drive', ...
      (books.drive_axle_kj - spent)/books.drive_axle_kj, (traction - work - trace)/traction, ...
      1e-9, 'rounding';
  };
end

function rows = rows_of_series(c, tr, s, books, share)
  q = drive_car(c, tr, 'series');
  kj = tr.dt*1e-3;
  braking = max(q.machine, 0);
  phase = q.is_braking;
  dc = sum(sum(q.dc, 2).*phase)*kj;
  drive = sum(sum(max(-q.machine, 0).*q.axle_speed, 2))*kj;
  axle = sum(sum(braking.*q.axle_speed, 2))*kj;
  exchange = late_work(c, tr, q, sum(braking, 2), q.is_fading, 1)*kj;
  off = share*axle + exchange;
  friction = sum(sum(q.friction.*q.axle_speed, 2))*kj;
  swing = q.battery.soc(end)*100 - c.battery.soc_percent;
  best = best_split(c, tr, q)*1e-3;
  wh = -sum(q.battery.terminals)*10*tr.dt/3600;
  both = 'driver, exchange';
  rows = {
    'series drive_axle_kj', books.drive_axle_kj, drive, share*drive + exchange, both;
    'series energy_machine_axle_kj', s.energy_machine_axle_kj, axle, off, both;
    'series energy_shaft_kj', s.energy_shaft_kj, sum(sum(q.shaft.*(q.machine > 0)))*kj, off, both;
    'series energy_dc_kj', s.energy_dc_kj, dc, off, both;
    'series energy_battery_kj', s.energy_battery_kj, sum(q.terminals.*phase)*kj, off, both;
    'series energy_cells_kj', s.energy_cells_kj, ...
      sum(q.cells.*phase)*kj, off, both;
    'series energy_friction_kj', s.energy_friction_front_kj + s.energy_friction_rear_kj, ...
      friction, share*friction + exchange, both;
    'series energy_recoverable_plant_kj', s.energy_recoverable_plant_kj, best, ...
      share*best + exchange, both;
    'series change of charge_percent', s.soc_end_percent - s.soc_start_percent, swing, ...
      share*abs(swing), 'driver';
    'series net_consumption_wh_per_km', s.net_consumption_wh_per_km, ...
      wh/(sum(tr.v)*kj), share*s.net_consumption_wh_per_km, 'driver';
  };
  if s.charge_ceiling_s > 0
    held = sum(sum(q.dc, 2) >= q.limit*(1 - 1e-9) & phase)*tr.dt;
    rows(end + 1, :) = {'series charge_ceiling_s', s.charge_ceiling_s, held, 0.1*held, ...
                        'a time at the edge of a limit: 10 %'};
  end
end

function rows = rows_of_friction(c, tr, s, share)
  q = drive_car(c, tr, 'friction-only');
  kj = tr.dt*1e-3;
  phase = q.is_braking;
  battery = sum(q.terminals.*phase)*kj;
  release = late_work(c, tr, q, q.demand, phase, -1)*kj;
  work = sum(q.friction.*q.axle_speed)*kj;
  off = share*work + release*work/sum(work);
  phases = sum(diff([0; phase]) > 0);
  ends = 2*phases*c.control.period_ms*1e-3*abs(battery)/(sum(phase)*tr.dt);
  start = [c.friction.front.start_c, c.friction.rear.start_c];
  rise = max(q.rotor) - start;
  warm = [s.rotor_front_peak_c, s.rotor_rear_peak_c] - start;
  hot = rise.*off./work;
  both = 'driver, release';
  rows = {
    'friction-only energy_friction_front_kj', s.energy_friction_front_kj, work(1), off(1), both;
    'friction-only energy_friction_rear_kj', s.energy_friction_rear_kj, work(2), off(2), both;
    'friction-only rise of rotor_front_peak_c', warm(1), rise(1), hot(1), both;
    'friction-only rise of rotor_rear_peak_c', warm(2), rise(2), hot(2), both;
  };
  if share < 0.005
    % else the drive that dies away while braking begins is in the program's figure
    rows(end + 1, :) = {'friction-only energy_battery_kj', s.energy_battery_kj, battery, ...
                        share*abs(battery) + ends, 'driver, ends'};
  end
end

% sum of the changes of an axle torque x how late friction follows x axle speed, W s; direction
% 1: all changes, -1: falls only
function work = late_work(c, tr, q, torque, where, direction)
  b = c.friction;
  lag = (b.front.dead_time_ms + b.front.lag_ms + c.control.period_ms)*1e-3;
  change = [0; diff(torque)];
  if direction < 0
    change = min(change, 0);
  else
    lag += 0.01./max(abs(tr.a), 0.1); % 1 cm/s
  end
  work = sum(abs(change).*mean(q.axle_speed, 2).*where.*lag)/tr.dt;
end

% rows of a CSV with a column `strategy`, by strategy
function t = table_of(file)
  lines = strsplit(strtrim(fileread(file)), "\n");
  names = strsplit(lines{1}, ',');
  for i = 2:numel(lines)
    fields = strsplit(lines{i}, ',', 'CollapseDelimiters', false);
    row = struct();
    for k = 2:numel(names)
      row.(names{k}) = str2double(fields{k});
    end
    t.(strrep(fields{1}, '-', '_')) = row;
  end
end

function is_failed = judge(name, row)
  is_failed = say(name, abs(row{2} - row{3}) <= row{4}, ...
                  sprintf('program %.9g, Octave %.9g, may be off by %.3g for %s', row{2:5}));
end

function is_failed = say(name, is_met, why)
  is_failed = ~is_met;
  if is_met
    printf('[       OK ] %s\n', name);
  else
    printf('[  FAILED  ] %s\n%s\n', name, why);
  end
end

function text = head_of_page()
  text = [ ...
    "# Whole cycles by another program\n\n" ...
    "Generated by `sh tests/reference/octave.sh PROGRAM SOURCES --write`; a test fails when this page\n" ...
    "is not what the script finds (in the digits shown, give or take the last). Each row is a test.\n" ...
    "The scripts in `octave/` work the sums out from the case and the trace alone, for a car that is\n" ...
    "exactly on the trace and actuators without delay; they share no code with the program. How far a\n" ...
    "figure may be off follows from what is left out; the words of the last column are explained in\n" ...
    "`octave/cycle_sums.m`. Runs named `-prompt` have actuators without delay in the program, too, so\n" ...
    "that only driver and control period are between the two. Derived values: they tell whether the\n" ...
    "sums are right, not whether the model is."];
end

function text = row_of_page(row)
  scale = max(abs(row{3}), eps);
  if abs(row{3}) < 1e-9
    text = sprintf('| %s | < 1e-9 | < 1e-9 | < 1e-9 | 1e-9 | %s |\n', row{1}, row{5});
  else
    text = sprintf('| %s | %.5g | %.5g | %+.2f %% | %.2f %% | %s |\n', row{1:3}, ...
                   100*(row{2} - row{3})/scale, 100*row{4}/scale, row{5});
  end
end

% whether the file holds the text, each number but for a unit of its last digit
function is_same = page_is_current(file, text)
  number = '[+-]?\d+\.?\d*(?:e[+-]?\d+)?';
  is_same = exist(file, 'file') == 2;
  if is_same
    found = fileread(file);
    is_same = strcmp(regexprep(found, number, '#'), regexprep(text, number, '#'));
  end
  if is_same
    a = str2double(regexp(found, number, 'match'));
    b = str2double(regexp(text, number, 'match'));
    is_same = all(abs(a - b) <= max(2e-4*abs(b), 0.011));
  end
end
