"""One module for each group of screens: functions f(request, given) -> reply."""
