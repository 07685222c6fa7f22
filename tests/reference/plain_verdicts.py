"""Which verdict may stand on a coat, from the moments at which its clocks reach their milestones."""


def rule_for(sheet):
    """The rule for a coat of the same sheet on top."""
    for top in (sheet.id, "self", sheet.family, "any"):
        for rule in sheet.rules:
            if rule["on_top"] == top:
                return rule
    return None


def moments_of(sheet, runs):
    """name -> track -> moment, of the clocks that decide about a coat of the same sheet on top."""
    rule = rule_for(sheet)
    top = rule["on_top"] if rule else None
    return {run.clock.name: run.at for run in runs if run.clock.top in (None, top)}


def verdicts(sheet, runs, now, limit_broken=False):
    """The verdicts that may stand at `now`, of a coat that nobody has touched or sanded. With a limit broken an
    open coat is anything but `recoat`."""
    rule, at = rule_for(sheet), moments_of(sheet, runs)

    def passed(name, track):
        when = at.get(name, {}).get(track)
        return when is not None and when <= now
    cured = passed("full-cure", "slow")
    open_words = {"wait", "touch-test", "sand-first", "cured"} if limit_broken else {"recoat"}
    if rule is None:
        return {"cured" if cured else "wait"}
    if rule["kind"] == "after-full-cure":
        return open_words if cured else {"wait"}
    touch = (rule.get("touch_opens", True) and passed("recoat-opens", "likely")
             and passed("recoat-opens", "upper"))
    before = {"touch-test"} if touch else {"wait"}
    if rule["kind"] == "early-gap-late":
        if passed("gap-ends", "slow"):
            return open_words
        if passed("gap-begins", "fast"):
            return {"do-not-coat"}
    elif passed("recoat-closes", "fast"):
        return {"cured"} if cured else {"sand-first"} if passed("sandable", "slow") else {"wait"}
    if "opens" not in rule or passed("recoat-opens", "slow"):
        return open_words
    return before


def verdict_sequence(sheet, runs):
    """[(moment, verdict)] as long as no limit is broken."""
    edges = sorted({t for run in runs for t in run.at.values() if t is not None})
    sequence = []
    for edge in edges:
        word = next(iter(verdicts(sheet, runs, edge)))
        if not sequence or sequence[-1][1] != word:
            sequence.append((edge, word))
    return sequence
