"""Which jobs can make a difference to what: conservatively, by the parts, kinds, facts and finishes in play.

Parts that replace one another hang together: what happens to one may make another a swap, an addition or nothing.
"""

from collections.abc import Iterable
from functools import cached_property

from tarebook.car.changes import related
from tarebook.judge.prepared import Cited, DecidingRule, PreparedClass, fact_tests
from tarebook.kinds import covers
from tarebook.route.workshop import Workshop
from tarebook.rules.conditions import Happened, Node, walk

Jobs = frozenset[str]
NO_JOBS: Jobs = frozenset()


class Touching:
    """What the free jobs of a workshop touch, as one class looks at it.

    Attributes:
        of_part: by part, the free jobs that take it off, fit it, replace it, lighten it or move it.
        clusters: sets of parts that hang together.
    """

    def __init__(self, workshop: Workshop) -> None:
        self.workshop = workshop
        self.inventory = workshop.inventory
        self.presence = workshop.before.presence
        self.prepared: PreparedClass = workshop.prepared
        self._free = frozenset(workshop.free)
        self.of_part: dict[str, Jobs] = dict.fromkeys(self.inventory.parts, NO_JOBS)
        self._of_fact: dict[str, Jobs] = {}
        for job_id in workshop.free:
            self._note(job_id)
        self.clusters = _clusters(
            self.inventory.parts, {id: part.replaces for id, part in self.inventory.parts.items()}
        )
        self._cluster_jobs = {
            cluster: frozenset().union(*(self.of_part[part] for part in cluster)) for cluster in self.clusters
        }
        self._cluster_kinds = {cluster: self._kinds_of(cluster) for cluster in self.clusters}
        self._of_kind: dict[str, Jobs] = {}
        self._deciding: dict[tuple[str, ...], list[DecidingRule]] = {}

    def _note(self, job_id: str) -> None:
        job = self.inventory.jobs[job_id]
        parts = {*job.off, *job.fit, *job.lightens, *job.moves}
        parts |= {self.inventory.parts[part].replaces or "" for part in job.fit}
        for part in parts & self.of_part.keys():
            self.of_part[part] |= {job_id}
        for fact in job.sets:
            self._of_fact[fact] = self._of_fact.get(fact, NO_JOBS) | {job_id}

    def _kinds_of(self, cluster: tuple[str, ...]) -> frozenset[str]:
        """The kinds that changes of the cluster may be decided for."""
        found: set[str] = set()
        for part_id in cluster:
            part = self.inventory.parts[part_id]
            found |= {part.kind, *self.presence.stands(part_id)}
            if part.replaces is not None and part.replaces not in self.inventory.parts:
                found |= {part.replaces, *self.presence.within(part.replaces)}
        return frozenset(found)

    def of_cluster(self, cluster: tuple[str, ...]) -> Jobs:
        """The jobs that touch one of its parts."""
        return self._cluster_jobs[cluster]

    def of_kinds(self, kinds: Iterable[str]) -> Jobs:
        """The jobs that may change whether something of the kinds is on, or what happened to it."""
        return NO_JOBS.union(*(self._of_one_kind(kind) for kind in kinds))

    def _of_one_kind(self, kind: str) -> Jobs:
        if kind not in self._of_kind:
            self._of_kind[kind] = NO_JOBS.union(
                *(
                    self._cluster_jobs[cluster]
                    for cluster in self.clusters
                    if self._cluster_jobs[cluster]
                    and (kind == "everything" or any(related(kind, each) for each in self._cluster_kinds[cluster]))
                )
            )
        return self._of_kind[kind]

    def setting(self, facts: Iterable[str]) -> Jobs:
        """The jobs that set one of these facts."""
        return NO_JOBS.union(*(self._of_fact.get(fact, NO_JOBS) for fact in facts))

    def of_figures(self, facts: Iterable[str]) -> Jobs:
        """The jobs that may change these facts as the class counts them."""
        return NO_JOBS.union(*(self._of_fact.get(fact, NO_JOBS) | self._of_counts(fact) for fact in facts))

    def _of_counts(self, fact: str) -> Jobs:
        nodes = self.counting.get(fact, [])
        return NO_JOBS.union(*(self._of_node(node, counted=False) for node in nodes))

    @cached_property
    def counting(self) -> dict[str, list[Node]]:
        """By fact, the conditions of the equivalences that apply to it."""
        found: dict[str, list[Node]] = {}
        for placed, cited in zip(self.prepared.full.rules["counts"], self.prepared.counts_cited, strict=True):
            found.setdefault(placed.rule.fact, []).extend(cited.nodes)
        return found

    def of_nodes(self, nodes: Iterable[Node]) -> Jobs:
        """The jobs that may change whether these conditions hold."""
        return NO_JOBS.union(*(self._of_node(node, counted=True) for node in nodes))

    def _of_node(self, node: Node, *, counted: bool) -> Jobs:
        facts = {fact for _, names in fact_tests(node) for fact in names}
        found = self.of_figures(facts) if counted else self.setting(facts)
        kinds = [kind for each in walk(node) if isinstance(each, Happened) for kind in each.kinds]
        return found | self.of_kinds(kinds)

    def of_rule(self, rule: Cited, *, bounded: bool) -> Jobs:
        """The jobs that may change whether a rule applies; `bounded` where it has bounds on the part."""
        return self.of_nodes(rule.nodes) | (self.of_figures(("wheelbase", "model_year")) if bounded else NO_JOBS)

    def deciding(self, cluster: tuple[str, ...]) -> list[DecidingRule]:
        """The rules that may decide a change of the cluster, by its kinds or because it is the fixing of another."""
        if cluster not in self._deciding:
            kinds = set(self._cluster_kinds[cluster])
            owned = self._owner_kinds(cluster)
            self._deciding[cluster] = [
                rule
                for rule in self.prepared.deciding
                if any(covers(named, kind) for named in rule.kinds_named for kind in kinds)
                or (rule.fixings and any(covers(named, kind) for named in rule.kinds_named for kind in owned))
            ]
        return self._deciding[cluster]

    def deciding_jobs(self, cluster: tuple[str, ...]) -> Jobs:
        """The jobs that may change which changes the cluster has, or how they are decided."""
        found = self._cluster_jobs[cluster]
        for rule in self.deciding(cluster):
            found |= self.of_rule(rule, bounded=bool(rule.bounds))
        return found | self.owners(cluster)

    def _owners(self, cluster: tuple[str, ...]) -> set[tuple[str, ...]]:
        if not self.prepared.has_fixings:
            return set()
        found: set[tuple[str, ...]] = set()
        for part_id in cluster:
            owner = self.inventory.parts[part_id].belongs_to
            seen = {part_id}
            while owner is not None and owner in self.inventory.parts and owner not in seen:
                seen.add(owner)
                found.add(self._cluster_of[owner])
                owner = self.inventory.parts[owner].belongs_to
        return found

    def _owner_kinds(self, cluster: tuple[str, ...]) -> set[str]:
        return {kind for owner in self._owners(cluster) for kind in self._cluster_kinds[owner]}

    @cached_property
    def _cluster_of(self) -> dict[str, tuple[str, ...]]:
        return {part: cluster for cluster in self.clusters for part in cluster}

    def of_thing(self, thing: str) -> Jobs:
        """The jobs that touch a part that stands for a thing, or may take its place."""
        return NO_JOBS.union(
            *(self._cluster_jobs[cluster] for cluster in self.clusters if thing in self._cluster_kinds[cluster])
        )

    def owners(self, cluster: tuple[str, ...]) -> Jobs:
        """The jobs that touch what parts of the cluster belong to, where a rule speaks of fixings."""
        return NO_JOBS.union(*(self._cluster_jobs[owner] for owner in self._owners(cluster)))

    def finishing(self, area: str, ways: Iterable[str]) -> Jobs:
        """The jobs that finish an area in one of these ways."""
        wanted = set(ways)
        return frozenset(
            job
            for job in self._free
            if any(covers(done.area, area) and done.by in wanted for done in self.inventory.jobs[job].finishes)
        )


def _clusters(parts: Iterable[str], replaces: dict[str, str | None]) -> tuple[tuple[str, ...], ...]:
    """Parts grouped by what they replace, directly or not; a kind without a part joins those that replace it."""
    names = list(parts)
    above: dict[str, str] = {}

    def root(name: str) -> str:
        while above.get(name, name) != name:
            name = above[name]
        return name

    for part_id in names:
        replaced = replaces[part_id]
        if replaced is not None:
            above[root(part_id)] = root(replaced if replaced in replaces else f"kind {replaced}")
    grouped: dict[str, list[str]] = {}
    for part_id in names:
        grouped.setdefault(root(part_id), []).append(part_id)
    return tuple(tuple(each) for each in grouped.values())
