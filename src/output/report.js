'use strict';
/* Zoom and read-out of the figures. The page is whole without it. */
(() => {
  const NEAREST = 40; /* greatest zoom */
  const NUMBER = /^[-+]?\d+(\.\d+)?(e[-+]?\d+)?$/i;

  const value = (text) => {
    const plain = text.trim().replace('\u2212', '-');
    return NUMBER.test(plain) ? Number(plain) : NaN;
  };

  /* where the origin of an element's own coordinates lies in the figure */
  const place = (svg, element) => {
    const m = svg.getScreenCTM().inverse().multiply(element.getScreenCTM());
    return { x: m.e, y: m.f, turned: Math.abs(m.b) > Math.abs(m.a) };
  };

  /* value = a + b * position, or its decimal logarithm; null when the ticks lie on no line */
  const fit = (ticks) => {
    for (const isLog of [false, true]) {
      const of = (tick) => (isLog ? Math.log10(tick.value) : tick.value);
      const first = ticks[0];
      const last = ticks[ticks.length - 1];
      const b = (of(last) - of(first)) / (last.at - first.at);
      const a = of(first) - b * first.at;
      if (Number.isFinite(b) && b !== 0 && ticks.every((t) => Math.abs((of(t) - a) / b - t.at) < 1.5)) {
        return { a, b, isLog };
      }
    }
    return null;
  };

  /* axes with numbers, from the labels and the tick that stands before each of them */
  const findAxes = (svg) => {
    const axes = [];
    const words = [];
    let axis = null;
    for (const text of svg.querySelectorAll('text')) {
      const spot = place(svg, text);
      const number = value(text.textContent);
      const label = text.parentNode;
      const tick = label.previousElementSibling;
      if (Number.isNaN(number) || spot.turned || !tick || tick.tagName !== 'path') {
        words.push({ text: text.textContent.trim(), ...spot });
        axis = null;
        continue;
      }
      const box = tick.getBBox();
      const upright = box.width < 0.5;
      const side = (upright ? 'x' : 'y') + (label.getAttribute('text-anchor') || '') +
        Math.round(upright ? spot.y : spot.x);
      if (!axis || axis.side !== side) {
        axis = { side, upright, edge: upright ? spot.y : spot.x, ticks: [] };
        axes.push(axis);
      }
      axis.ticks.push({ at: upright ? box.x : box.y, value: number });
    }
    return axes.filter((one) => one.ticks.length > 1).flatMap((one) => {
      const line = fit(one.ticks);
      if (!line) {
        return [];
      }
      const at = one.ticks.map((tick) => tick.at);
      const low = Math.min(...at);
      const top = Math.max(...at);
      const spare = (top - low) / (at.length - 1);
      const near = (word) => (one.upright
        ? !word.turned && word.y > one.edge && word.y < one.edge + 40 && word.x > low && word.x < top
        : word.turned && Math.abs(word.x - one.edge) < 90 && word.y > low - spare && word.y < top + spare);
      const name = words.filter(near).sort((p, q) => (one.upright ? p.y - q.y
        : Math.abs(p.x - one.edge) - Math.abs(q.x - one.edge)))[0];
      return [{ ...one, ...line, low: low - spare, top: top + spare, name: name ? name.text : (one.upright ? 'x' : 'y') }];
    });
  };

  const read = (axis, at) => {
    const raw = axis.a + axis.b * at;
    const here = axis.isLog ? 10 ** raw : raw;
    const step = Math.abs(axis.isLog ? here * axis.b : axis.b);
    const places = Math.min(6, Math.max(0, Math.ceil(-Math.log10(step))));
    return `${axis.name}: ${here.toFixed(places)}`;
  };

  const describe = (axes, x, y) => {
    const inX = axes.filter((axis) => axis.upright && x >= axis.low && x <= axis.top && axis.edge > y)
      .sort((p, q) => p.edge - q.edge).slice(0, 1);
    const inY = axes.filter((axis) => !axis.upright && y >= axis.low && y <= axis.top);
    return [...inX.map((axis) => read(axis, x)), ...inY.map((axis) => read(axis, y))].join(', ');
  };

  const enliven = (figure) => {
    const plate = figure.querySelector('.plate');
    const svg = plate.querySelector('svg');
    const base = svg.viewBox.baseVal;
    const whole = { x: base.x, y: base.y, w: base.width, h: base.height };
    let view = { ...whole };
    let axes = null;
    let spot = { x: whole.x + whole.w / 2, y: whole.y + whole.h / 2 };
    let grip = null;

    const line = () => {
      const one = document.createElementNS('http://www.w3.org/2000/svg', 'line');
      one.setAttribute('class', 'mark');
      one.setAttribute('visibility', 'hidden');
      svg.append(one);
      return one;
    };
    const across = line();
    const down = line();
    const out = document.createElement('output');

    const put = (one, x1, y1, x2, y2) => {
      Object.entries({ x1, y1, x2, y2, visibility: 'visible' }).forEach(([key, to]) => one.setAttribute(key, to));
    };
    const show = (x, y) => {
      axes = axes || findAxes(svg);
      spot = { x, y };
      put(across, whole.x, y, whole.x + whole.w, y);
      put(down, x, whole.y, x, whole.y + whole.h);
      out.textContent = describe(axes, x, y);
    };
    const look = (x, y, w) => {
      const wide = Math.min(whole.w, Math.max(whole.w / NEAREST, w));
      const high = (wide * whole.h) / whole.w;
      view = {
        x: Math.min(Math.max(x, whole.x), whole.x + whole.w - wide),
        y: Math.min(Math.max(y, whole.y), whole.y + whole.h - high),
        w: wide,
        h: high,
      };
      svg.setAttribute('viewBox', [view.x, view.y, view.w, view.h].join(' '));
      plate.classList.toggle('near', wide < whole.w);
    };
    const zoom = (factor, x, y) => {
      const w = Math.min(whole.w, Math.max(whole.w / NEAREST, view.w / factor));
      look(x - ((x - view.x) * w) / view.w, y - ((y - view.y) * w) / view.w, w);
    };
    const follow = () => {
      look(spot.x < view.x || spot.x > view.x + view.w ? spot.x - view.w / 2 : view.x,
        spot.y < view.y || spot.y > view.y + view.h ? spot.y - view.h / 2 : view.y, view.w);
    };
    const reset = () => look(whole.x, whole.y, whole.w);
    const under = (event) => new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());

    const tools = document.createElement('div');
    tools.className = 'tools';
    const button = (sign, name, act) => {
      const one = document.createElement('button');
      one.type = 'button';
      one.textContent = sign;
      one.setAttribute('aria-label', `${name}: ${plate.dataset.title}`);
      one.title = name;
      one.addEventListener('click', act);
      tools.append(one);
    };
    button('+', 'zoom in', () => zoom(1.6, spot.x, spot.y));
    button('\u2212', 'zoom out', () => zoom(1 / 1.6, spot.x, spot.y));
    button('whole', 'whole figure', reset);
    out.setAttribute('aria-live', 'polite');
    tools.append(out);
    figure.insertBefore(tools, plate);

    plate.tabIndex = 0;
    plate.setAttribute('role', 'group');
    plate.setAttribute('aria-label', `${plate.dataset.title}: arrow keys move the read-out, plus and minus zoom, 0 shows the whole`);
    plate.addEventListener('keydown', (event) => {
      const step = view.w / (event.shiftKey ? 500 : 50);
      const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
      if (event.ctrlKey || event.metaKey || event.altKey) {
        return;
      }
      if (moves[event.key]) {
        const [dx, dy] = moves[event.key];
        show(Math.min(Math.max(spot.x + dx, whole.x), whole.x + whole.w),
          Math.min(Math.max(spot.y + dy, whole.y), whole.y + whole.h));
        follow();
      } else if (event.key === '+' || event.key === '=') {
        zoom(1.6, spot.x, spot.y);
      } else if (event.key === '-') {
        zoom(1 / 1.6, spot.x, spot.y);
      } else if (event.key === '0' || event.key === 'Escape') {
        reset();
      } else {
        return;
      }
      event.preventDefault();
    });
    /* a page that scrolls must not be caught: the wheel zooms with Ctrl, or once clicked */
    plate.addEventListener('wheel', (event) => {
      if (event.ctrlKey || document.activeElement === plate) {
        const at = under(event);
        zoom(event.deltaY < 0 ? 1.25 : 0.8, at.x, at.y);
        event.preventDefault();
      }
    }, { passive: false });
    plate.addEventListener('pointerdown', (event) => {
      const at = under(event);
      grip = view.w < whole.w ? at : null;
      show(at.x, at.y);
    });
    plate.addEventListener('pointermove', (event) => {
      const at = under(event);
      if (grip && event.buttons) {
        look(view.x + grip.x - at.x, view.y + grip.y - at.y, view.w);
      } else {
        show(at.x, at.y);
      }
    });
  };

  document.querySelectorAll('figure').forEach(enliven);
})();
