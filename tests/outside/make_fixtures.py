#!/usr/bin/env python3
"""Makes the load-flow and short-circuit fixtures again, from the PyPI package pandapower.

    python3 -m venv /somewhere/else && /somewhere/else/bin/pip install pandapower==3.5.6
    /somewhere/else/bin/python tests/outside/make_fixtures.py [--write FOLDER]

Takes the inputs of every row of the committed fixtures, builds the circuit, solves it, and compares the result with the pandapower column
of that row. Says the worst relative difference of each file, and ends with status 1 when one is over its tolerance. Takes about eight
minutes. With --write it puts files of inputs and results into FOLDER; it never touches the committed ones.

How a circuit is drawn:
- single-phase load flow: a balanced line at the base voltage U0 with go and return as one resistance. Per unit it is the real circuit.
- three-phase load flow: one resistance per line conductor.
- earth fault: line conductor in the positive sequence, line + 3 x protective conductor in the zero sequence; (2 Z1 + Z0)/3 is the loop.
- the source is given its short-circuit power with the voltage factor in it, because the package multiplies it by that factor again.
"""

import argparse
import csv
import math
import pathlib
import sys

import pandapower as pp
import pandapower.shortcircuit as sc

FIXTURES = pathlib.Path(__file__).parent / "fixtures"
NEARLY_RESISTIVE = 1e7


def hot(r20_ohm_per_km, alpha, conductor_c):
    return r20_ohm_per_km * (1 + alpha * (conductor_c - 20))


def load_flow(volts, ohm, reactance, watts, vars_, constant_current):
    """Voltage drop of one load behind one line, in the voltage the base is given in."""
    net = pp.create_empty_network(sn_mva=1e-3)
    source, end = (pp.create_bus(net, vn_kv=volts / 1000) for _ in range(2))
    pp.create_ext_grid(net, source, vm_pu=1.0)
    pp.create_line_from_parameters(
        net, source, end, length_km=1.0, r_ohm_per_km=ohm, x_ohm_per_km=reactance, c_nf_per_km=0.0, max_i_ka=1.0
    )
    share = 100 if constant_current else 0
    pp.create_load(
        net, end, p_mw=watts / 1e6, q_mvar=vars_ / 1e6, const_i_p_percent=share, const_i_q_percent=share
    )
    # A start from a d.c. load flow divides by the reactance, which may be zero.
    pp.runpp(net, init="flat", tolerance_mva=1e-9 * watts / 1e6, max_iteration=100, numba=False)
    return volts * (1 - net.res_bus.vm_pu.at[end])


def short_circuit(fault, volts, c, source_ohm, r_over_x, line_ohm, return_ohm):
    """Initial fault current at the end of one line, in amperes."""
    net = pp.create_empty_network()
    base_kv = math.sqrt(3) * volts / 1000
    source, end = (pp.create_bus(net, vn_kv=base_kv) for _ in range(2))
    ratio = NEARLY_RESISTIVE if math.isinf(r_over_x) else r_over_x
    # 10 % voltage tolerance gives factors of 1.10 and 0.90, 6 % gives 1.05 and 0.95.
    case, tolerance = {1.1: ("max", 10), 0.95: ("min", 6)}[c]
    power = c * base_kv**2 / source_ohm
    pp.create_ext_grid(
        net,
        source,
        **{f"s_sc_{case}_mva": power, f"rx_{case}": ratio, f"x0x_{case}": 1.0, f"r0x0_{case}": ratio},
    )
    pp.create_line_from_parameters(
        net,
        source,
        end,
        length_km=1.0,
        r_ohm_per_km=line_ohm,
        x_ohm_per_km=0.0,
        c_nf_per_km=0.0,
        max_i_ka=1.0,
        r0_ohm_per_km=line_ohm + 3 * return_ohm,
        x0_ohm_per_km=0.0,
        c0_nf_per_km=0.0,
        # The resistance is given hot already.
        endtemp_degree=20,
    )
    sc.calc_sc(net, bus=end, fault=fault, case=case, lv_tol_percent=tolerance)
    return 1000 * net.res_bus_sc.ikss_ka.at[end]


def single_phase(row):
    watts = row["u0_v"] * row["current_a"]
    return {
        "pandapower_const_i_v": load_flow(row["u0_v"], row["loop_ohm"], 0.0, watts, 0.0, True),
        "pandapower_const_p_v": load_flow(row["u0_v"], row["loop_ohm"], 0.0, watts, 0.0, False),
    }


def with_reactance(row):
    power, factor = row["u0_v"] * row["current_a"], row["power_factor"]
    loop_km = 2 * row["length_m"] / 1000
    reactive = power * math.sqrt(1 - factor**2)
    drop = load_flow(
        row["u0_v"], loop_km * row["r_t_ohm_per_km"], loop_km * row["x_ohm_per_km"], power * factor, reactive, True
    )
    return {"pandapower_v": drop}


def three_phase(row):
    ohm = hot(row["r20_ohm_per_km"], row["alpha_per_k"], row["conductor_temp_c"]) * row["length_m"] / 1000
    return {
        "pandapower_const_i_ll_v": load_flow(row["ull_v"], ohm, 0.0, row["power_w"], 0.0, True),
        "pandapower_const_p_ll_v": load_flow(row["ull_v"], ohm, 0.0, row["power_w"], 0.0, False),
    }


def earth_fault(row):
    current = short_circuit(
        "1ph", 230.0, row["c_factor"], row["ze_ohm"], row["ze_r_over_x"], row["r1_ohm"], row["r2_ohm"]
    )
    return {"pandapower_ik_a": current}


def three_phase_fault(row):
    ohm = {4: 4.61, 6: 3.08, 10: 1.83, 16: 1.15}[row["csa_mm2"]] * row["length_m"] / 1000
    given = (row["u0_v"], row["c_factor"], row["loop_ze_ohm"] / 2, row["ze_r_over_x"], ohm, 0.0)
    return {"pandapower_ik3_a": short_circuit("3ph", *given), "pandapower_ik2_a": short_circuit("2ph", *given)}


# File, circuit, and the relative difference allowed: the committed figures have ten digits, and a load flow stops at its tolerance.
FILES = [
    ("voltdrop_1ph.csv", single_phase, 1e-8),
    ("voltdrop_1ph_reactance.csv", with_reactance, 1e-8),
    ("voltdrop_3ph_22kw.csv", three_phase, 1e-8),
    ("fault_line_earth.csv", earth_fault, 1e-8),
    ("fault_3ph.csv", three_phase_fault, 1e-8),
]


def numbers(row):
    out = {}
    for name, text in row.items():
        try:
            out[name] = float(text)
        except ValueError:
            out[name] = text
    return out


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--write", type=pathlib.Path, metavar="FOLDER", help="put inputs and results there")
    arguments = parser.parse_args()
    over = False
    for name, solve, tolerance in FILES:
        with open(FIXTURES / name, newline="") as file:
            rows = [numbers(row) for row in csv.DictReader(file)]
        worst, compared, made = 0.0, 0, []
        for row in rows:
            results = solve(row)
            for column, value in results.items():
                worst = max(worst, abs(value - row[column]) / abs(row[column]))
                compared += 1
            engines = ("pandapower", "pgm", "opendss", "ngspice")
            inputs = {column: value for column, value in row.items() if not column.startswith(engines)}
            made.append(inputs | {column: f"{value:.10g}" for column, value in results.items()})
        over = over or worst > tolerance
        verdict = "OVER" if worst > tolerance else "within"
        print(f"{name}: {len(rows)} rows, {compared} figures, worst difference {worst:.1e}, {verdict} {tolerance:.0e}")
        if arguments.write:
            arguments.write.mkdir(parents=True, exist_ok=True)
            with open(arguments.write / name, "w", newline="") as file:
                writer = csv.DictWriter(file, made[0], lineterminator="\n")
                writer.writeheader()
                writer.writerows(made)
    return 1 if over else 0


if __name__ == "__main__":
    sys.exit(main())
