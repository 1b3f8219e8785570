% SPDX-License-Identifier: GPL-3.0-or-later
% b = battery_run(c, p_dc, dt): the battery under the power p_dc that the machines offer to the DC
% link (W, one value per step of dt, positive while charging), auxiliaries off.
%
%   U = OCV(soc) + U_rc;  P = p_dc - P_aux = U I + R I^2  =>  I = 2 P/(U + sqrt(U^2 + 4 R P))
%   dU_rc/dt = (I R_rc - U_rc)/tau;  dq/dt = I
%   charging: I <= min(I_c + (I_p - I_c) min(1, w/(0.2 W)), (V_max - U)/R), never below 0, where
%   the pulse budget w starts full at W = (I_p^2 - I_c^2) t_p and dw/dt = I_c^2 - max(I, 0)^2 in
%   [0, W], for it is charging that wears it; so at the DC link p_dc <= I (U + R I) + P_aux.
%
% Fields, per step: terminals (power, W), limit (of p_dc, W), soc (after the step, 0..1), ocv and u
% (V), ohm.
function b = battery_run(c, p_dc, dt)
  bat = c.battery;
  % tables on a grid so fine that their corners lie on it
  grid = 0:1e-4:1;
  ocv = interp1(bat.ocv(:, 1)/100, bat.ocv(:, 2), grid);
  ohm = resistance_over(bat.resistance, bat.temperature_c, grid)*1e-3;
  limits = bat.charge_limits;
  i_c = interp1(limits(:, 1), limits(:, 2), bat.temperature_c);
  i_p = interp1(limits(:, 1), limits(:, 3), bat.temperature_c);
  full = (i_p^2 - i_c^2)*bat.pulse_time_s;
  aux = bat.auxiliaries_w;
  capacity = bat.capacity_ah*3600;
  r_rc = bat.rc_resistance_mohm*1e-3;
  decay = exp(-dt/bat.rc_time_s);
  soc = bat.soc_percent/100;
  u_rc = 0;
  budget = full;
  n = numel(p_dc);
  b.terminals = b.limit = b.soc = b.ocv = b.u = b.ohm = zeros(n, 1);
  for k = 1:n
    x = soc*1e4 + 1;
    at = floor(x);
    part = x - at;
    v_oc = ocv(at) + part*(ocv(at + 1) - ocv(at));
    r = ohm(at) + part*(ohm(at + 1) - ohm(at));
    u = v_oc + u_rc;
    most = min(i_c + (i_p - i_c)*min(1, budget/(0.2*full)), (bat.voltage_max_v - u)/r);
    most = max(most, 0);
    limit = most*(u + r*most) + aux;
    p = min(p_dc(k), limit) - aux;
    i = 2*p/(u + sqrt(u*u + 4*r*p));
    b.terminals(k) = p;
    b.limit(k) = limit;
    b.ocv(k) = v_oc;
    b.u(k) = u;
    b.ohm(k) = r;
    soc += i*dt/capacity;
    u_rc = i*r_rc + (u_rc - i*r_rc)*decay;
    budget = min(max(budget + (i_c^2 - max(i, 0)^2)*dt, 0), full);
    b.soc(k) = soc;
  end
end

% pack resistance over state of charge at one temperature: straight in both; held beyond the ends
function ohm = resistance_over(table, temperature, soc)
  t = unique(table(:, 1));
  s = unique(table(:, 2));
  rows = sortrows(table, [1, 2]);
  values = reshape(rows(:, 3), numel(s), numel(t));
  at = min(max(soc*100, s(1)), s(end));
  ohm = interp2(t', s, values, repmat(temperature, size(at)), at, 'linear');
end
