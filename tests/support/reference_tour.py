"""A strong reference for the way between cuts: the routing solver of OR-tools on the same stops.

It shares nothing with `convert.cutting.tour`. A stop that may be done backwards is two nodes of
which one must be visited; the way ends anywhere, so the way to the last node costs nothing.
"""

from itertools import pairwise

import numpy as np
from ortools.constraint_solver import pywrapcp, routing_enums_pb2

PER_MM = 1000
"""The solver counts in whole numbers: micrometres."""


def reference_travel(entry, leave, home, fixed, seconds=2):
    """Return the travel (mm) of the best tour that the solver finds in so many seconds."""
    entry, leave = np.asarray(entry, dtype=float), np.asarray(leave, dtype=float)
    both = ~np.asarray(fixed) & (np.abs(entry - leave).max(axis=1) > 1e-9)
    stop = np.concatenate((np.arange(len(entry)), np.flatnonzero(both)))
    arrive = np.concatenate((entry, leave[both]))
    depart = np.concatenate((leave, entry[both]))
    # Node 0 is home, the last one the end.
    start = np.vstack((np.asarray(home, dtype=float), depart))
    cost = np.zeros((len(stop) + 2, len(stop) + 2))
    cost[: len(start), 1 : len(stop) + 1] = np.hypot(*(start[:, None] - arrive[None]).transpose(2, 0, 1))
    steps = np.rint(cost * PER_MM).astype(int).tolist()
    manager = pywrapcp.RoutingIndexManager(len(steps), 1, [0], [len(steps) - 1])
    routing = pywrapcp.RoutingModel(manager)

    def step(i, j):
        return steps[manager.IndexToNode(i)][manager.IndexToNode(j)]

    routing.SetArcCostEvaluatorOfAllVehicles(routing.RegisterTransitCallback(step))
    for number in range(len(entry)):
        nodes = [manager.NodeToIndex(k + 1) for k in np.flatnonzero(stop == number).tolist()]
        routing.AddDisjunction(nodes, 10**12)
    settings = pywrapcp.DefaultRoutingSearchParameters()
    settings.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PATH_CHEAPEST_ARC
    settings.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    settings.time_limit.FromSeconds(seconds)
    found = routing.SolveWithParameters(settings)
    here, nodes = routing.Start(0), []
    while not routing.IsEnd(here):
        nodes.append(manager.IndexToNode(here))
        here = found.Value(routing.NextVar(here))
    assert sorted(stop[node - 1] for node in nodes[1:]) == list(range(len(entry)))
    return sum(cost[a, b] for a, b in pairwise(nodes))
