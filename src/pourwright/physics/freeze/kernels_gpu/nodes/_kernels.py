"""Laws and links of the nodes on the card; ``kernels/nodes/_kernels.py`` says what each kernel does."""

from __future__ import annotations

from numba import cuda

from pourwright.physics.freeze.kernels.nodes import _kernels as plain
from pourwright.physics.freeze.kernels.tables import _kernels as tables
from pourwright.physics.freeze.kernels_gpu.arrays._kernels import (
    fetch,
    fetched,
    grouped,
    put,
    spread,
    twin,
    wide_twin,
)

_ALONG, _BETWEEN, _TO_AIR = twin(tables.along), twin(tables.between), twin(tables.to_air)
_METAL_TEMP = twin(plain._metal_temp)
# Both work from one node to another; here they are given one at a time.
LOOKED_UP = twin(plain._temps, _metal_temp=_METAL_TEMP, _mould_temp=twin(plain._mould_temp, between=_BETWEEN))
_GUESS = twin(plain._guess, _metal_temp=_METAL_TEMP)
_LINKS = wide_twin(plain.link_values)


def node_heat(laws, temp_K, other_J_K, heat_J):
    """Give the heat that nodes hold at their temperatures [J]; done when a run is laid, so by the processor."""
    made_J = fetch(heat_J)
    plain.node_heat(*fetched((laws, temp_K, other_J_K)), made_J)
    heat_J[...] = put(made_J)


@cuda.jit
def _temps(laws, heat_J, temp_K, capacity_J_K):
    for i in range(cuda.grid(1), len(temp_K), cuda.gridsize(1)):
        LOOKED_UP(i, i + 1, laws, heat_J, temp_K, temp_K, capacity_J_K)


def node_temps(laws, heat_J, temp_K, capacity_J_K):
    """Give temperature and heat capacity of nodes that hold so much heat; nodes without capacity keep theirs."""
    spread(_temps, len(temp_K), laws, heat_J, temp_K, capacity_J_K)


@cuda.jit
def _node_laws(laws, temp_K, before_K, ratio, held_K, node_k, node_h, node_u):
    for i in range(cuda.grid(1), len(held_K), cuda.gridsize(1)):
        here_K = temp_K[i] + (temp_K[i] - before_K[i]) * ratio
        held_K[i] = here_K
        if i < laws.metals_count:
            node_k[i] = _ALONG(laws.knots_K, laws.k_W_mK, here_K)
            solid = _ALONG(laws.knots_K, laws.solid_frac, here_K)
            node_h[i] = _ALONG(laws.contact_frac, laws.contact_W_m2K, solid)
        else:
            node_k[i] = _BETWEEN(laws.mould_W_mK, laws.low_K, laws.per_K_ratio, here_K)[0]
            node_u[i] = _BETWEEN(laws.mould_u_K, laws.low_K, laws.per_K_ratio, here_K)[0]


def node_laws(laws, temp_K, before_K, ratio, held_K, node_k, node_h, node_u):
    """Give the temperature at which nodes are held during the sweeps, and the laws there."""
    spread(_node_laws, len(held_K), laws, temp_K, before_K, float(ratio), held_K, node_k, node_h, node_u)


def link_values(links, node_k, node_h, passes_W_K):
    """Give what each link between nodes passes [W/K]."""
    spread(_LINKS, len(links.one), links, node_k, node_h, passes_W_K)


@cuda.jit
def _to_air(first, face, air, temp_K, node_k, ambient_K, outside, passes_W_K, source_W, sink_W_K):
    for n in range(cuda.grid(1), len(source_W), cuda.gridsize(1)):
        for place in range(first[n], first[n + 1]):
            f = face[place]
            passes = _TO_AIR(temp_K[n], air.m2[f], air.m[f] / node_k[n], ambient_K, outside, air.side[f])
            passes_W_K[f] = passes
            source_W[n] += passes * ambient_K
            sink_W_K[n] += passes


def air_of_nodes(air, temp_K, node_k, ambient_K, outside, passes_W_K, source_W, sink_W_K):
    """Give what each bare face of a node passes to the air [W/K], and add it to the nodes."""
    if len(air.node):
        spread(
            _to_air, len(source_W), *grouped(air.node, len(source_W)), air, temp_K, node_k, float(ambient_K), outside,
            passes_W_K, source_W, sink_W_K,
        )  # fmt: skip


@cuda.jit
def _guesses(laws, begun_J, begun_K, from_J, from_K, to_J, to_K, ratio, heat_J, temp_K):
    for i in range(cuda.grid(1), len(begun_J), cuda.gridsize(1)):
        _GUESS(i, i + 1, laws, begun_J, begun_K, from_J, from_K, to_J, to_K, ratio, heat_J, temp_K)


def guess_nodes(laws, begun_J, begun_K, from_J, from_K, to_J, to_K, ratio, heat_J, temp_K):
    """Guess heats and temperatures: what they went from one moment to another, times a ratio, they go on."""
    spread(
        _guesses, len(begun_J), laws, begun_J, begun_K, from_J, from_K, to_J, to_K, float(ratio), heat_J, temp_K
    )  # fmt: skip
