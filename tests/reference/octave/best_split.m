% SPDX-License-Identifier: GPL-3.0-or-later
% e = best_split(c, tr, q): the most energy that could reach the battery's terminals, J, on the
% braking of q, moment by moment and without delays:
%
%   integral over the braking of  max min(P_dc(T_1, T_2), P_limit) - P_aux,
%   0 <= T_i <= limit_i,  T_1 + T_2 <= D
%
% A bound needs no tyre slip, which only takes: w = v/r. The maximum is looked for on a grid of shares, every fifth step. P_dc is so flat around its
% maximum that the grid misses less than 2 W of it.
function e = best_split(c, tr, q)
  car = car_of(c);
  every = 5;
  at = (3:every:numel(tr.v))';
  at = at(q.is_braking(at));
  demand = q.demand(at);
  w = tr.v(at)/car.radius;
  best = -Inf(size(at));
  second = 0;
  if all(car.fitted)
    second = 0:0.1:1;
  end
  first = find(car.fitted)(1);
  other = 3 - first;
  for f = 0:0.04:1
    for g = second
      torque = zeros(numel(at), 2);
      torque(:, first) = f*min(q.can(at, first), demand);
      torque(:, other) = g*min(q.can(at, other), demand - torque(:, first));
      best = max(best, power_of(car, torque, w));
    end
  end
  best = min(best, q.limit(at)) - c.battery.auxiliaries_w;
  e = sum(best)*every*tr.dt;
end

% power into the DC link at axle speed w, rad/s
function p = power_of(car, torque, w)
  p = zeros(size(w));
  for i = find(car.fitted)
    p += machine_power(car.machine{i}, torque(:, i), w);
  end
end
