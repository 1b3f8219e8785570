% SPDX-License-Identifier: GPL-3.0-or-later
% t = machine_limit(m, w, v): greatest braking torque at the axle, N m, at axle speed w and road
% speed v, machine cool and battery aside.
%
%   shaft: min(peak torque, peak power/w_s), falling as 1/w_s^2 beyond the breakdown speed, none
%   above the top speed; or a table over speed. At the axle times ratio/eta. Times the machine's
%   own low-speed limit: 0 at the lower speed, 1 from the upper one on, straight between.
function t = machine_limit(m, w, v)
  rpm = w*m.ratio*30/pi;
  if isfield(m, 'torque_table')
    table = m.torque_table;
    t = interp1(table(:, 1), table(:, end), min(rpm, table(end, 1)));
  else
    ws = max(w*m.ratio, 1e-9);
    broken = m.breakdown_rpm*pi/30;
    t = min(m.shaft_torque_peak_nm, m.power_peak_kw*1e3./ws);
    at_breakdown = min(m.shaft_torque_peak_nm, m.power_peak_kw*1e3/broken);
    t = min(t, at_breakdown*(broken./ws).^2);
  end
  t(rpm > m.speed_max_rpm) = 0;
  kmh = v*3.6;
  low = (kmh - m.low_speed_zero_kmh)/(m.low_speed_full_kmh - m.low_speed_zero_kmh);
  t = t*m.ratio/(m.gear_efficiency_percent/100).*min(max(low, 0), 1);
end
