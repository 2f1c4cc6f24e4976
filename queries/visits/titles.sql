-- What each rule is called.
SELECT rule, title FROM applied_rules ORDER BY rule
