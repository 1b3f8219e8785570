% SPDX-License-Identifier: GPL-3.0-or-later
% q = drive_car(c, tr, strategy): the car exactly on the trace, every actuator without delay.
%
%   force at the tyres  F = m_eff a + f0 + f1 v + f2 v^2;  D = max(0, -F) brakes, max(0, F) drives
%   axle torque T_i, positive while braking, sum of T_i = -F r
%   contact force F_i = (T_i - J_i a_dec/r)/r, load N_i with transfer by a_dec = -a,
%   slip F_i/(N_i slope), wheel speed w_i = v (1 - slip)/r: what a machine or brake takes is T_i w_i
%
% `series`: the machines take D, faded linearly between the strategy's two speeds, up to what they
% can and the battery takes; two machines share in proportion to what each can. Friction takes the
% rest in the proportion of its torques per pressure, of which pads deliver their real share:
% friction(temperature)/nominal. The driver makes good what weak pads lack, so the sum is kept.
% `friction-only`: no machine brakes.
%
% Fields per step: force (N); machine, friction, can (N m, columns front, rear); axle_speed
% (rad/s); dc, shaft (W, front, rear), terminals, and slip_power (W). `series` alone: cells (W), limit
% (of the DC link, W), battery (its own steps). `friction-only` alone: rotor (degC).
function q = drive_car(c, tr, strategy)
  car = car_of(c);
  r = car.radius;
  v = tr.v;
  q.force = car.mass_effective*tr.a + car.road(1) + car.road(2)*v + car.road(3)*v.^2;
  q.force(v == 0) = 0;
  demand = max(0, -q.force)*r;
  driving = max(0, q.force)*r;
  q.is_braking = demand > 0; % standing takes nothing off and is no braking
  q.demand = demand;
  can = zeros(numel(v), 2);
  for i = find(car.fitted)
    can(:, i) = machine_limit(car.machine{i}, v/r, v);
  end
  braking = zeros(numel(v), 2);
  q.is_fading = false(numel(v), 1);
  is_series = strcmp(strategy, 'series');
  if is_series
    s = c.strategy.series;
    fade = min(max((v*3.6 - s.fade_end_kmh)/(s.fade_start_kmh - s.fade_end_kmh), 0), 1);
    q.is_fading = fade > 0 & fade < 1 & demand > 0;
    total = sum(can, 2);
    wanted = min(demand.*fade*s.share_max_percent/100, total);
    braking = can./max(total, 1e-9).*wanted;
  end
  q.can = can;
  % speeds of the axles depend on which axle brakes; friction without knowing its temperature
  q.friction = (demand - sum(braking, 2)).*car.nominal;
  q.machine = braking - driving.*car.drive;
  [q.axle_speed, q.slip_power] = axle_speeds(car, tr, q.machine + q.friction);
  if is_series
    q = charge_battery(car, c, q, tr.dt);
    if any(q.is_held)
      q.machine = hold_limit(car, q);
      q.friction = (demand - sum(max(q.machine, 0), 2)).*car.nominal;
      [q.axle_speed, q.slip_power] = axle_speeds(car, tr, q.machine + q.friction);
    end
  end
  q.dc = q.shaft = zeros(numel(v), 2);
  for i = find(car.fitted)
    [q.dc(:, i), q.shaft(:, i)] = ...
      machine_power(car.machine{i}, q.machine(:, i), q.axle_speed(:, i));
  end
  q.terminals = sum(q.dc, 2) - c.battery.auxiliaries_w;
  if is_series
    q.cells = cells_power(q.battery, q.terminals);
  else
    [q.friction, q.rotor] = heat_discs(car, q, tr);
  end
end

% the battery moves slowly: one step of it for ten of the car
function q = charge_battery(car, c, q, dt)
  p_dc = zeros(size(q.demand));
  for i = find(car.fitted)
    p_dc += machine_power(car.machine{i}, q.machine(:, i), q.axle_speed(:, i));
  end
  q.battery = battery_run(c, mean(reshape(p_dc, 10, []), 1)', 10*dt);
  q.limit = repelem(q.battery.limit, 10);
  q.is_held = p_dc > q.limit;
end

% torques of one common factor at which the DC link gets what the battery takes, by halving
function machine = hold_limit(car, q)
  over = q.is_held;
  low = zeros(sum(over), 1);
  high = ones(sum(over), 1);
  machine = q.machine;
  for step = 1:40
    middle = (low + high)/2;
    p = zeros(size(middle));
    for i = find(car.fitted)
      p += machine_power(car.machine{i}, middle.*machine(over, i), q.axle_speed(over, i));
    end
    above = p > q.limit(over);
    high(above) = middle(above);
    low(~above) = middle(~above);
  end
  machine(over, :) = machine(over, :).*low;
end

% OCV I, W, at terminal powers p between the battery's own, longer steps
function power = cells_power(b, p)
  u = repelem(b.u, 10);
  power = repelem(b.ocv, 10)*2.*p./(u + sqrt(u.^2 + 4*repelem(b.ohm, 10).*p));
end

% discs: C dT/dt = share P - (h0 + h1 v)(T - T_air) - A sigma (T^4 - T_air^4), T in K in the last
function [friction, rotor] = heat_discs(car, q, tr)
  sigma = 5.670374e-8;
  air = car.ambient + 273.15;
  every = 10;
  dt = every*tr.dt;
  blocks = @(x) reshape(mean(reshape(x, every, [], size(x, 2)), 1), [], size(x, 2));
  total = sum(q.friction, 2);
  power = blocks(total.*q.axle_speed);
  speed = blocks(tr.v);
  n = size(power, 1);
  rotor = share = zeros(n, 2);
  for i = 1:2
    t(i) = car.brake{i}.start_c;
    pads(i, :) = interp1(car.brake{i}.pad_table(:, 1), car.brake{i}.pad_table(:, 2), ...
                         0:650)/car.brake{i}.pad_friction*car.brake{i}.pad_scale;
    cool(i, :) = [car.brake{i}.cooling_w_per_k, car.brake{i}.cooling_w_per_k_per_mps, ...
                  car.brake{i}.radiating_area_m2*sigma];
    into(i) = car.brake{i}.heat_share;
    heat(i) = car.brake{i}.heat_capacity_j_per_k;
  end
  for k = 1:n
    at = floor(t);
    part = t - at;
    bite = [pads(1, at(1) + 1)*(1 - part(1)) + pads(1, at(1) + 2)*part(1), ...
            pads(2, at(2) + 1)*(1 - part(2)) + pads(2, at(2) + 2)*part(2)].*car.nominal;
    bite /= bite(1) + bite(2);
    for i = 1:2
      over = t(i) + 273.15;
      out = (cool(i, 1) + cool(i, 2)*speed(k))*(over - air) + cool(i, 3)*(over^4 - air^4);
      t(i) += dt*(into(i)*power(k, i)*bite(i) - out)/heat(i);
    end
    share(k, :) = bite;
    rotor(k, :) = t;
  end
  friction = total.*repelem(share, every, 1);
end
