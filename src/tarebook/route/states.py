"""States of a few jobs, and cubes of them: a cube says of some of the jobs whether they are done, of others nothing."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import product

from tarebook.car.models import Job

State = tuple[bool, ...]
Cube = tuple[bool | None, ...]


def states_of(jobs: Sequence[str], described: Mapping[str, Job]) -> list[State]:
    """All states of some jobs that their own `needs` and `not_with` allow, as far as these are among them."""
    place = {job: index for index, job in enumerate(jobs)}
    after = [(place[job], place[need]) for job in jobs for need in described[job].needs if need in place]
    apart = [(place[job], place[other]) for job in jobs for other in described[job].not_with if other in place]
    return [
        state
        for state in product((False, True), repeat=len(jobs))
        if not any(state[job] and not state[need] for job, need in after)
        and not any(state[job] and state[other] for job, other in apart)
    ]


def cover(states: Iterable[State], may_hold: Callable[[State], bool]) -> list[Cube]:
    """Cubes that hold all of the states, and beyond them only states that they may hold; each as wide as it gets."""
    cubes: list[Cube] = []
    for state in states:
        if any(is_within(state, cube) for cube in cubes):
            continue
        cube: list[bool | None] = list(state)
        for index in range(len(state)):
            tried = [*cube[:index], None, *cube[index + 1 :]]
            if all(may_hold(each) for each in states_within(tried)):
                cube = tried
        cubes.append(tuple(cube))
    return cubes


def states_within(cube: Sequence[bool | None]) -> Iterable[State]:
    return product(*((False, True) if each is None else (each,) for each in cube))


def literals_of(jobs: Sequence[str], cube: Cube) -> tuple[frozenset[str], frozenset[str]]:
    """The jobs that a cube has done, and those that it has not."""
    named = list(zip(jobs, cube, strict=True))
    return (
        frozenset(job for job, wanted in named if wanted is True),
        frozenset(job for job, wanted in named if wanted is False),
    )


def is_within(state: State, cube: Cube) -> bool:
    return all(wanted is None or wanted == each for each, wanted in zip(state, cube, strict=True))
