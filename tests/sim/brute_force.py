"""The store again, by brute force: one minute after the other for people and ovens, ten for the air.

No SimPy, no events, nothing of ``simstore.sim`` or ``simstore.physics``: every rule is written down anew from the
documentation, in the plainest way. It reads the scenario's values and knows the calendar and the forecast rule, plain
numbers for leaks, one sort of packet to a kind, several people and ovens, cooling in the oven or sealed, losses,
purchases, holidays and leave. What is drawn by lot it refuses.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np

from simstore.scenario.scenario import Scenario

GAS, VAPOUR = 8.314462618, 461.52
MINUTES, WEEK = 1440, 10080
SUBSTEPS = 6
DAY_NAMES = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
HANDLING = ("exchange", "load", "unload", "prepare")


def log_psat(temp_c):
    """ln of the saturation pressure [Pa], Wagner and Pruss 2002, equation 2.5a."""
    t = np.asarray(temp_c, dtype=float) + 273.15
    v = 1.0 - t / 647.096
    powers = zip(
        (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502),
        (1.0, 1.5, 3.0, 3.5, 4.0, 7.5),
        strict=True,
    )
    return math.log(22.064e6) + 647.096 / t * sum(a * v**n for a, n in powers)


def film_kg_per_m_s_pa(film, temp_c):
    return film.permeability_kg_per_m_s_pa * math.exp(
        -film.activation_kj_per_mol * 1e3 / GAS * (1 / (temp_c + 273.15) - 1 / (film.measured_at_c + 273.15))
    )


@dataclass
class Packet:
    sort: str
    gel_kg: float
    water_kg: float
    left: float = 1.0
    cycles: int = 0
    since: int = 0


@dataclass
class Oven:
    name: str
    spec: object
    state: str = "idle"
    packets: list = field(default_factory=list)
    until: int = -1
    row: dict = field(default_factory=dict)


@dataclass
class Person:
    name: str
    spec: object
    sessions: list
    here: tuple | None = None
    busy: tuple | None = None
    geared: bool = False
    handled: Counter = field(default_factory=Counter)
    spent: Counter = field(default_factory=Counter)
    idle: int = 0


class Store:
    """One plan, lived through minute by minute."""

    def __init__(self, scenario: Scenario, plan_name: str, days: int) -> None:
        self.settings = s = scenario.settings
        self.plan = s.plans[plan_name]
        assert self.plan.rule in ("calendar", "forecast")
        assert s.climate.temp_noise_c == s.climate.rh_noise_pct == 0.0
        self.rows = scenario.enclosures
        self.days = days
        self.temp_c, self.rh = self.weather(0, days)
        self.reference_c = float(self.temp_c.mean())
        self.now = 0
        self.ready = {name: [] for name in s.packets}
        self.spent = {name: [] for name in s.packets}
        self.dried = {name: [] for name in s.packets}
        self.loose = {name: [0.0, 0.0] for name in s.packets}
        self.on_order = Counter()
        self.in_oven = Counter()
        self.wanted: list[tuple] = []
        self.pending: set[int] = set()
        self.coming: list[tuple] = []
        self.deliveries: list[tuple] = []
        self.exchanges, self.loads, self.orders, self.stock, self.prepared = [], [], [], [], []
        self.lost_kg = 0.0
        self.fill_shelves()
        self.fill_enclosures()
        self.ovens = [
            Oven(name if spec.count == 1 else f"{name} {n + 1}", spec)
            for name, spec in s.ovens.items()
            for n in range(spec.count)
        ]
        self.gel_start_kg = self.gel_kg()
        self.people = [Person(name, spec, self.sessions(spec)) for name, spec in s.technicians.items()]
        self.due = [self.first_due(i) for i in range(len(self.rows))]
        self.next_list = dict.fromkeys(s.metals, 0)
        self.day_sum = np.zeros(len(self.rows))
        self.day_mean = np.zeros((len(self.rows), days))
        self.held_days = np.zeros(len(self.rows), dtype=int)
        self.hours_over = np.zeros(len(self.rows), dtype=int)
        self.ceiling = np.array([s.metals[e.metal].ceiling_rh_pct / 100 for e in self.rows])

    # --- calendar and weather ---

    def weather(self, first_day, days):
        c = self.settings.climate
        start = self.settings.start + timedelta(days=first_day)
        day = start.timetuple().tm_yday + np.arange(24 * days) / 24
        temp = c.temp_mean_c + c.temp_swing_c * np.cos(2 * np.pi * (day - c.temp_peak_day) / 365)
        rh = c.rh_mean_pct + c.rh_swing_pct * np.cos(2 * np.pi * (day - c.rh_peak_day) / 365)
        return temp + c.shift_c, np.clip(rh + c.shift_rh_pct, 1, 100) / 100

    def sessions(self, spec):
        found = []
        for n in range(self.days):
            today = self.settings.start + timedelta(days=n)
            away = today in self.settings.holidays or (spec.starts is not None and today < spec.starts)
            if away or any(first <= today <= last for first, last in spec.leave):
                continue
            for text in spec.sessions:
                name, times = text.split()
                if name.lower()[:3] == DAY_NAMES[today.weekday()]:
                    hours = [int(clock[:2]) * 60 + int(clock[3:]) for clock in times.split("-")]
                    found.append((MINUTES * n + hours[0], MINUTES * n + hours[1]))
        return sorted(found)

    # --- what there is at the start ---

    def packet_kind(self, i):
        row, kind = self.rows[i], self.settings.kinds[self.rows[i].kind]
        name = row.packet or kind.packet
        count = kind.packets if row.packets is None else row.packets
        return (name, count) if name and count else (None, 0)

    def isotherm(self, sort):
        return self.settings.sorbents[self.settings.packets[sort].sorbent].isotherm

    def uptake(self, sort, activity, temp_c):
        iso = self.isotherm(sort)
        potential = -GAS * (temp_c + 273.15) * math.log(activity)
        return iso.capacity_kg_per_kg * math.exp(-((potential / iso.energy_j_per_mol) ** iso.exponent))

    def fill_shelves(self):
        for name, packet in self.settings.packets.items():
            stock = self.settings.stock.get(name)
            if stock is None:
                continue
            dry = self.settings.sorbents[packet.sorbent].supplied_water_pct / 100
            wet = self.uptake(name, 0.4, 20.0)
            self.ready[name] += [Packet(name, packet.gel_kg, packet.gel_kg * dry) for _ in range(stock.ready)]
            self.spent[name] += [Packet(name, packet.gel_kg, packet.gel_kg * wet) for _ in range(stock.spent)]

    def fill_enclosures(self):
        n = len(self.rows)
        self.contents = [[] for _ in range(n)]
        self.gel, self.q, self.left = np.zeros(n), np.full(n, 0.1), np.ones(n)
        self.air, self.packing, self.gp = np.zeros(n), np.zeros(n), np.zeros(n)
        self.layers = []
        self.packet_g = {name: self.packet_conductance(name) for name in self.settings.packets}
        isotherms = set()
        for i, row in enumerate(self.rows):
            kind = self.settings.kinds[row.kind]
            scale = (row.volume_m3 or kind.volume_m3) / kind.volume_m3
            empty = row.empty_m3 or (row.volume_m3 or kind.volume_m3) * kind.empty_pct / 100
            spaces = [each.gap_m3 * scale for each in kind.layers[:-1]] + [empty]
            leaks = [each.leak_per_day for each in kind.layers]
            if row.leak_per_day is not None:
                leaks[-1] = row.leak_per_day
            assert all(isinstance(leak, float) for leak in leaks), "a leak is drawn by lot"
            self.layers.append([
                (leak / 86400 * space, each.area_m2 * scale ** (2 / 3) / (each.thickness_um * 1e-6), each.film)
                for leak, space, each in zip(leaks, spaces, kind.layers, strict=True)
            ])  # fmt: skip
            resistance = np.cumsum([1 / g for g in self.layer_conductances(i, self.reference_c)])
            self.air[i] = empty + sum(v * r / resistance[-1] for v, r in zip(spaces, resistance[:-1], strict=False))
            self.packing[i] = kind.packing_g_per_pct * 0.1 * scale
            name, count = self.packet_kind(i)
            if name:
                gel_kg = self.settings.packets[name].gel_kg
                isotherms.add(self.isotherm(name))
                self.q[i] = row.gel_water_pct / 100
                self.contents[i] = [Packet(name, gel_kg, gel_kg * self.q[i]) for _ in range(count)]
                self.gel[i], self.gp[i] = gel_kg * count, self.packet_g[name] * count
        assert len(isotherms) <= 1
        self.iso = isotherms.pop() if isotherms else None
        self.u = np.where(self.gel > 0, self.over_gel(self.temp_c[0])[0], self.rh[0])
        self.capacity = self.capacities(0)

    def layer_conductances(self, i, temp_c):
        return [
            volume / (VAPOUR * (temp_c + 273.15)) + film_kg_per_m_s_pa(self.settings.films[film], temp_c) * per_m
            for volume, per_m, film in self.layers[i]
        ]

    def wall(self, i, temp_c):
        return 1 / sum(1 / each for each in self.layer_conductances(i, temp_c))

    def packet_conductance(self, name, temp_c=None):
        temp_c = self.reference_c if temp_c is None else temp_c
        p, temp_k = self.settings.packets[name], temp_c + 273.15
        if p.conductance_kg_per_s_pa is not None:
            return p.conductance_kg_per_s_pa
        still = 2.471e-5 * (temp_k / 298.15) ** 1.75 / (VAPOUR * temp_k)
        heap = 2 if p.laid == "heaped" else 1
        share, thick = p.perforation_pct / 100, p.film_um * 1e-6
        between = film_kg_per_m_s_pa(self.settings.films["ldpe"], temp_c)
        wrapping = still * share / (thick + math.pi / 4 * p.hole_mm * 1e-3) + between * (1 - share) / thick
        depth = heap * p.gel_kg / self.settings.sorbents[p.sorbent].bulk_kg_per_m3 / p.area_m2
        return p.area_m2 * p.faces / heap / (1 / wrapping + depth / (2 * p.faces) / (0.4**1.5 * still))

    # --- air, hour by hour ---

    def over_gel(self, temp_c):
        """RH over the gel and its slope with q."""
        if self.iso is None:
            return np.ones_like(self.q), np.zeros_like(self.q)
        q = self.q_full()
        empty = np.log(self.iso.capacity_kg_per_kg / q)
        potential = self.iso.energy_j_per_mol * empty ** (1 / self.iso.exponent)
        rt = GAS * (temp_c + 273.15)
        h = np.exp(-potential / rt)
        return h, h * potential / (rt * self.iso.exponent * empty * q) / self.left

    def q_full(self):
        return np.clip(self.q / self.left, 1e-6, self.iso.capacity_kg_per_kg * 0.9999)

    def capacities(self, hour):
        psat = math.exp(log_psat(self.temp_c[hour]))
        return self.packing + self.air * psat / (VAPOUR * (self.temp_c[hour] + 273.15))

    def air_hour(self, hour):
        """Rosenbrock steps of order two (Verwer); the mean RH is what the water that came in says."""
        temp, outside = float(self.temp_c[hour]), float(self.rh[hour])
        psat = math.exp(log_psat(temp))
        new = self.capacities(hour)
        self.u = self.u * self.capacity / new
        self.capacity = new
        gw = psat * np.array([self.wall(i, temp) for i in range(len(self.rows))])
        gp = psat * self.gp
        per_gel = np.divide(gp, self.gel, out=np.zeros_like(gp), where=self.gel > 0)
        water = new * self.u + self.gel * self.q
        step, gamma = 3600 / SUBSTEPS, 1 - 1 / math.sqrt(2)

        def rates(u, h):
            return (gw * (outside - u) + gp * (h - u)) / new, per_gel * (u - h)

        for _ in range(SUBSTEPS):
            u, q = self.u, self.q
            h, slope = self.over_gel(temp)
            a, b = 1 + gamma * step * (gw + gp) / new, -gamma * step * gp * slope / new
            c, d = -gamma * step * per_gel, 1 + gamma * step * per_gel * slope
            det = a * d - b * c
            f, g = rates(u, h)
            k1, l1 = (d * f - b * g) / det, (a * g - c * f) / det
            self.q = q + step * l1
            f, g = rates(u + step * k1, self.over_gel(temp)[0])
            f, g = f - 2 * k1, g - 2 * l1
            self.u = u + step * (1.5 * k1 + 0.5 * (d * f - b * g) / det)
            self.q = q + step * (1.5 * l1 + 0.5 * (a * g - c * f) / det)
        mean = outside - (new * self.u + self.gel * self.q - water) / (gw * 3600)
        self.day_sum += mean
        self.hours_over += mean > self.ceiling
        if hour % 24 == 23:
            self.day_mean[:, hour // 24] = 100 * self.day_sum / 24
            self.held_days += self.day_sum / 24 <= self.ceiling
            self.day_sum[:] = 0

    # --- due dates ---

    def cadence(self, metal):
        weeks = self.plan.cadence_weeks
        return round((weeks.get(metal, max(weeks.values())) if isinstance(weeks, dict) else weeks) * WEEK)

    def first_due(self, i):
        name, _ = self.packet_kind(i)
        if name is None:
            return math.inf
        if self.plan.rule == "forecast":
            return self.forecast(i, 0.0)
        if self.rows[i].last_regenerated is None:
            return 0
        age = min((self.settings.start - self.rows[i].last_regenerated).days, 1460)
        return max(0, self.cadence(self.rows[i].metal) - age * MINUTES)

    def forecast(self, i, from_day):
        """Day by day, each in one implicit step, until the air between gel and room comes to the trigger."""
        name, _ = self.packet_kind(i)
        packets, iso = self.contents[i], self.isotherm(name)
        gel = sum(p.gel_kg * p.left for p in packets)
        q = sum(p.water_kg for p in packets) / gel
        trigger = min(self.settings.metals[self.rows[i].metal].ceiling_rh_pct * self.plan.trigger_pct / 100, 99) / 100
        day = int(from_day)
        share = 1 - (from_day - day)
        while day < self.days + 5 * 365:
            temp, rh = self.weather(day % 365, 1)
            before, after, came, held = 0.0, 0.0, 0.0, 1.0
            colder = np.argsort(temp, kind="stable")[:12]
            parts = [colder, np.setdiff1d(np.arange(24), colder)]
            ends = []
            for part in parts:
                t, psat = temp[part], np.exp(log_psat(temp[part]))
                layers = np.array(
                    [[g * p for g in self.layer_conductances(i, c)] for c, p in zip(t, psat, strict=True)]
                )
                wall = 1 / (1 / layers.mean(axis=0)).sum()
                packet = len(packets) * np.mean(
                    [self.packet_conductance(name, c) * p for c, p in zip(t, psat, strict=True)]
                )
                outside, per_k = (psat * rh[part]).sum() / psat.sum(), (1 / (t + 273.15)).mean()
                h, slope = self.over(iso, q, per_k)
                before += 0.5 * (h + (outside - h) * wall / (wall + packet))
                step = 0.5 * share * 86400 * wall * packet / (wall + packet) / gel
                came += step * (outside - h)
                held += step * h * slope
                ends.append((outside, per_k, wall, packet))
            if before >= trigger:
                return max(day + 1 - share, from_day) * MINUTES
            q += came / held
            for outside, per_k, wall, packet in ends:
                h, _ = self.over(iso, q, per_k)
                after += 0.5 * (h + (outside - h) * wall / (wall + packet))
            if after >= trigger:
                return (day + 1 - share + share * (trigger - before) / (after - before)) * MINUTES
            share = 1
            day += 1
        return math.inf

    def over(self, iso, q, per_k):
        """RH over gel at a mean of 1/T, and the slope of its logarithm."""
        empty = math.log(iso.capacity_kg_per_kg / q)
        potential = iso.energy_j_per_mol / GAS * empty ** (1 / iso.exponent) * per_k
        return math.exp(-potential), potential / (iso.exponent * empty * q)

    def midnight(self):
        if self.plan.rule == "calendar":
            self.release(self.now, None)
        else:
            for metal in self.settings.metals:
                if self.next_list[metal] <= self.now:
                    self.next_list[metal] += max(self.cadence(metal), MINUTES)
                    self.release(self.next_list[metal], metal)
        for name, stock in self.settings.stock.items():
            if stock.order_quantity and self.usable(name) + self.on_order[name] <= stock.reorder_point:
                self.on_order[name] += stock.order_quantity
                self.orders.append((self.now, name, stock.order_quantity))
                self.coming.append((self.now + round(stock.lead_days * MINUTES), name, stock.order_quantity))

    def usable(self, name):
        to_dry = len(self.spent[name]) if self.ovens else 0
        return len(self.ready[name]) + to_dry + len(self.dried[name]) + self.in_oven[name]

    def release(self, until, metal):
        for i, due in enumerate(self.due):
            if due <= until and metal in (None, self.rows[i].metal):
                if i not in self.pending:
                    self.pending.add(i)
                    ceiling = self.settings.metals[self.rows[i].metal].ceiling_rh_pct
                    self.wanted.append((ceiling, int(due), i))
                self.due[i] = math.inf

    # --- people ---

    def choose(self, person):
        """Most urgent thing that fits, as (task, minutes, what to do first, what to do last); None for nothing."""
        tasks = self.settings.tasks
        in_session = person.here[1] - self.now
        gear = 0 if person.geared else math.ceil(tasks.gear_min)
        limit = round(person.spec.handling_limit_h_per_day * 60) - person.handled[self.now // MINUTES]
        by_hand = min(in_session - gear, limit)
        for oven in self.ovens:
            if oven.state == "waiting" and math.ceil(tasks.unload_min) <= by_hand:
                return "unload", math.ceil(tasks.unload_min), self.begin_unload(oven), lambda o=oven: self.unload(o)
        startable = [w for w in self.heads() if self.enough(w)]
        for oven in self.ovens:
            minutes = math.ceil(tasks.load_min)
            needed = minutes + (self.running(oven) if oven.spec.attended else 0)
            chosen, share = self.next_load(oven)
            blocked = bool(self.wanted) and not startable
            worth = share * 100 >= oven.spec.least_load_pct or blocked
            if oven.state == "idle" and minutes <= by_hand and needed <= in_session and chosen and worth:
                return "load", minutes, lambda o=oven: self.begin_load(o), lambda o=oven: self.heat(o)
        if self.deliveries and math.ceil(tasks.receive_min) <= in_session:
            return "receive", math.ceil(tasks.receive_min), self.take_delivery, self.receive
        if startable:
            i = min(startable)[2]
            own = self.settings.kinds[self.rows[i].kind].exchange_min
            minutes = math.ceil(tasks.exchange_min if own is None else own)
            if minutes <= by_hand:
                return "exchange", minutes, self.begin_exchange, lambda given: self.exchange(person, *given)
        # preparing comes before and after reading; without rounds that is the same
        for name, pile in self.dried.items():
            cool = sum(1 for p in pile if p.since <= self.now) if pile and pile[0].since <= self.now else 0
            count = min(cool, 20, int(by_hand / tasks.prepare_min))
            if count > 0 and math.ceil(count * tasks.prepare_min) <= by_hand:
                return (
                    "prepare",
                    math.ceil(count * tasks.prepare_min),
                    lambda n=name, c=count: self.begin_prepare(n, c),
                    lambda given: self.prepare(*given),
                )
        return None

    def heads(self):
        first = {}
        for want in sorted(self.wanted):
            first.setdefault(self.packet_kind(want[2])[0], want)
        return list(first.values())

    def enough(self, want):
        name, count = self.packet_kind(want[2])
        return len(self.ready[name]) >= count

    def work(self):
        """Let everybody finish, begin and go home in this minute."""
        moved = True
        while moved:
            moved = False
            for person in self.people:
                if person.busy and person.busy[0] == self.now:
                    moved = True
                    finish, person.busy = person.busy[1], None
                    finish()
                if person.here and not person.busy:
                    if self.now >= person.here[1]:
                        person.spent["idle"] += person.here[1] - person.here[0] - person.idle
                        person.here = None
                    else:
                        moved |= self.start(person)

    def start(self, person):
        job = self.choose(person)
        if job is None:
            return False
        if job[0] in HANDLING and not person.geared:
            # gloves and mask first; then look again, since somebody else may have taken that work
            person.geared = True
            minutes = math.ceil(self.settings.tasks.gear_min)
            person.busy = (self.now + minutes, lambda: None)
            person.spent["gear"] += minutes
        else:
            task, minutes, first, last = job
            if task in HANDLING:
                person.handled[self.now // MINUTES] += minutes
            given = first()
            person.busy = (self.now + minutes, last if given is None else lambda: last(given))
            person.spent[task] += minutes
        person.idle += minutes
        return True

    # --- what hands do ---

    def begin_unload(self, oven):
        def first():
            oven.state = "in use"

        return first

    def unload(self, oven):
        sealed = oven.spec.cooling == "sealed"
        assert oven.spec.cooling != "bench"
        cool = max(self.now, oven.row["hot"] + round(oven.spec.cool_h * 60)) if sealed else self.now
        oven.row["unloaded"] = self.now
        if sealed:
            oven.row["cool"] = cool
        for p in oven.packets:
            p.since = cool
            self.in_oven[p.sort] -= 1
            self.dried[p.sort].append(p)
            self.dried[p.sort].sort(key=lambda each: each.since)
        oven.packets = []
        oven.state = "idle"

    def running(self, oven):
        return round(oven.spec.warm_up_min + oven.spec.cycle_h * 60)

    def next_load(self, oven):
        chosen, share = [], 0.0
        for p in sorted((p for pile in self.spent.values() for p in pile), key=lambda p: p.since):
            bulk = self.settings.sorbents[self.settings.packets[p.sort].sorbent].bulk_kg_per_m3
            more = p.gel_kg / (oven.spec.trays * oven.spec.tray_area_m2 * oven.spec.bed_depth_mm / 1e3 * bulk)
            if share + more > 1 + 1e-9:
                break
            chosen.append(p)
            share += more
        return chosen, share

    def begin_load(self, oven):
        oven.packets, _ = self.next_load(oven)
        for p in oven.packets:
            self.spent[p.sort] = [each for each in self.spent[p.sort] if each is not p]
            self.in_oven[p.sort] += 1
        oven.state = "in use"
        oven.row = {"oven": oven.name, "loaded": self.now, "packets": len(oven.packets)}
        self.loads.append(oven.row)

    def heat(self, oven):
        oven.row["loaded"] = self.now
        oven.state, oven.until = "hot", self.now + self.running(oven)

    def oven_minute(self, oven):
        if oven.until != self.now:
            return
        if oven.state == "hot":
            self.dry(oven)
            oven.row["hot"] = self.now
            if oven.spec.cooling == "in_oven":
                oven.state, oven.until = "cooling", self.now + round(oven.spec.cool_h * 60)
                return
        elif oven.state == "cooling":
            oven.row["cool"] = self.now
        oven.state = "waiting"

    def dry(self, oven):
        hour = min(self.now // 60, len(self.temp_c) - 1)
        room_c = float(self.temp_c[hour])
        room_pa = math.exp(log_psat(room_c)) * float(self.rh[hour])
        oven.row["water_in"] = sum(p.water_kg for p in oven.packets)
        oven.row["gel"] = sum(p.gel_kg for p in oven.packets)
        energy = oven.spec.casing_w * self.running(oven) * 60
        for sort in dict.fromkeys(p.sort for p in oven.packets):
            mine = [p for p in oven.packets if p.sort == sort]
            energy += self.dry_sort(oven.spec, sort, mine, room_c, room_pa)
        oven.row["energy"] = energy / 3.6e6
        oven.row["water_out"] = sum(p.water_kg for p in oven.packets)

    def dry_sort(self, spec, sort, packets, room_c, room_pa):
        """First order to the balance with the room's vapour; heat by Clausius and Clapeyron on the curve itself."""
        hot = spec.set_c + 273.15
        kept = self.uptake(sort, min(room_pa / math.exp(log_psat(spec.set_c)), 1), spec.set_c)
        rate = 0.39 * (20 / spec.bed_depth_mm) * math.exp(-35.54e3 / GAS * (1 / hot - 1 / 377.15))
        before = [p.water_kg / p.gel_kg for p in packets]
        after = [min(kept, q) + (q - min(kept, q)) * math.exp(-rate * spec.cycle_h) for q in before]
        middle = (sum(before) + sum(after)) / len(packets) / 2
        iso = self.isotherm(sort)
        potential = iso.energy_j_per_mol * math.log(iso.capacity_kg_per_kg / middle) ** (1 / iso.exponent)

        def log_p(inverse_k):
            return float(log_psat(1 / inverse_k - 273.15)) - potential / GAS * inverse_k

        step, x = 2e-6, 1 / hot
        slope = (8 * (log_p(x + step) - log_p(x - step)) - log_p(x + 2 * step) + log_p(x - 2 * step)) / (12 * step)
        energy = 0.0
        fade = 1 - self.settings.sorbents[self.settings.packets[sort].sorbent].fade_per_cycle_pct / 100
        for p, q0, q1 in zip(packets, before, after, strict=True):
            energy += p.gel_kg * ((q0 - q1) * -VAPOUR * slope + (922 + 4186 * q0) * (spec.set_c - room_c))
            p.water_kg = p.gel_kg * q1
            p.cycles += 1
            p.left *= fade
        return energy

    def take_delivery(self):
        return self.deliveries.pop(0)

    def receive(self, delivery):
        name, count = delivery
        packet = self.settings.packets[name]
        dry = self.settings.sorbents[packet.sorbent].supplied_water_pct / 100
        self.on_order[name] -= count
        self.dried[name] += [Packet(name, packet.gel_kg, packet.gel_kg * dry, since=self.now) for _ in range(count)]

    def begin_exchange(self):
        want = min(w for w in self.heads() if self.enough(w))
        self.wanted.remove(want)
        name, count = self.packet_kind(want[2])
        fresh, self.ready[name] = self.ready[name][:count], self.ready[name][count:]
        gain = self.settings.stock[name].ready_gain_pct_per_year / 100
        for p in fresh:
            p.water_kg += p.gel_kg * gain * (self.now - p.since) / MINUTES / 365
            p.since = self.now
        return want, fresh

    def exchange(self, person, want, fresh):
        i = want[2]
        hour = min(self.now // 60, len(self.temp_c) - 1)
        old = self.contents[i]
        for p in old:
            p.water_kg = self.q[i] * p.gel_kg
            p.since = self.now
        self.spent[fresh[0].sort] += old
        capacity = self.capacities(hour)[i]
        u = self.u[i] * self.capacity[i] / capacity
        self.u[i] = u + (capacity - self.packing[i]) / capacity * (self.rh[hour] - u)
        self.capacity[i] = capacity
        self.contents[i] = fresh
        self.gel[i] = sum(p.gel_kg for p in fresh)
        self.q[i] = sum(p.water_kg for p in fresh) / self.gel[i]
        self.left[i] = sum(p.gel_kg * p.left for p in fresh) / self.gel[i]
        self.exchanges.append((self.now, i, person.name, want[1], 100 * self.q[i]))
        self.pending.discard(i)
        if self.plan.rule == "calendar":
            self.due[i] = self.now + self.cadence(self.rows[i].metal)
        else:
            self.due[i] = self.forecast(i, self.now / MINUTES)

    def begin_prepare(self, name, count):
        taken, self.dried[name] = self.dried[name][:count], self.dried[name][count:]
        self.in_oven[name] += count
        return name, taken

    def prepare(self, name, packets):
        self.in_oven[name] -= len(packets)
        self.prepared.append((self.now, len(packets)))
        full = self.settings.packets[name].gel_kg
        loss = self.settings.sorbents[self.settings.packets[name].sorbent].loss_per_cycle_pct / 100
        loose = self.loose[name]
        for p in packets:
            if p.cycles:
                self.lost_kg += p.gel_kg * loss
                p.gel_kg, p.water_kg = p.gel_kg * (1 - loss), p.water_kg * (1 - loss)
            short = full - p.gel_kg
            if short > loose[0]:
                loose[0] += p.gel_kg
                loose[1] += p.water_kg
                continue
            if short > 0:
                water = loose[1] * short / loose[0]
                loose[0], loose[1] = loose[0] - short, loose[1] - water
                p.gel_kg, p.water_kg = full, p.water_kg + water
            p.since = self.now
            self.ready[name].append(p)

    def gel_kg(self):
        piles = [*self.ready.values(), *self.spent.values(), *self.dried.values(), *self.contents]
        piles += [oven.packets for oven in self.ovens]
        return sum(p.gel_kg for pile in piles for p in pile) + sum(loose[0] for loose in self.loose.values())

    # --- the clock ---

    def live(self) -> Store:
        """Go through every minute of the run."""
        for minute in range(self.days * MINUTES):
            self.now = minute
            if self.now % 60 == 0 and self.now:
                self.air_hour(self.now // 60 - 1)
            if self.now % MINUTES == 0:
                self.midnight()
            while self.coming and self.coming[0][0] == self.now:
                self.deliveries.append(self.coming.pop(0)[1:])
            for oven in self.ovens:
                self.oven_minute(oven)
            for person in self.people:
                if person.sessions and person.sessions[0][0] == self.now:
                    person.here, person.geared, person.idle = person.sessions.pop(0), False, 0
            if any(person.here for person in self.people):
                self.work()
        self.air_hour(len(self.temp_c) - 1)
        return self
