"""What a combination of bow, arrow and archer is called."""

from proofyard.records.speed_facts import CombinationFact


def combination_name(fact: CombinationFact) -> str:
    return f"{fact.bow_name}, arrow {fact.arrow_tag}, {fact.archer}"


def combination_builds(fact: CombinationFact) -> str:
    head = f"{fact.head_name}; " if fact.head_name else ""
    return f"{head}bow build {fact.bow_build_number}, arrow build {fact.arrow_build_number}"
