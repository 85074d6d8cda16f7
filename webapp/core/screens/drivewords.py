"""Lengths, forces, names and reasons of a drive as people read them."""

from .. import numbers
from .. import units
from .. import words


class Shown:
    """Numbers in the workshop's units and sentences with the drive's own names.

    Parameters:  shop: the workshop's settings · full: the drive, every key present
    """

    def __init__(self, shop, full):
        self.full = full
        self.length_unit = shop["length_unit"]
        self.force_unit = shop["force_unit"]
        self._inch = units.to_si({"value": "1", "unit": self.length_unit}, "length") * 1000
        self._pull = units.to_si({"value": "1", "unit": self.force_unit}, "force")

    def length(self, mm, half=None) -> str:
        """Return a length with its unit, "" when it is not known.

        Parameters:  mm: the length, or None [mm] · half: its half width, or None [mm]
        """
        return (self.bare_length(mm, half) + " " + self.length_unit) if mm is not None else ""

    def bare_length(self, mm, half=None) -> str:
        """Return a length without its unit.

        Parameters:  mm: the length [mm] · half: its half width, or None [mm]
        """
        if half:
            return numbers.plus_minus(mm / self._inch, half / self._inch)
        return numbers.fixed(mm / self._inch, 0 if self.length_unit == "mm" else 2)

    def force(self, newtons) -> str:
        """Return a force with its unit.

        Parameters:  newtons: the force [N]
        """
        return numbers.short(newtons / self._pull, 3) + " " + self.force_unit

    def between(self, low_n, high_n) -> str:
        """Return an interval of forces with its unit.

        Parameters:  low_n, high_n: its ends [N]
        """
        return numbers.short(low_n / self._pull, 2) + " to " + numbers.short(high_n / self._pull, 2) + " " + self.force_unit

    def names(self, paths) -> list:
        """Return the names of numbers of the drive form.

        Parameters:  paths: such as "pulleys.3.diameter_mm"
        """
        out = []
        for path in paths:
            name = self.name(path)
            if name not in out:
                out.append(name)
        return out

    def name(self, path) -> str:
        """Return the name of a number of the drive form.

        Parameters:  path: such as "pulleys.3.diameter_mm"
        """
        parts = path.split(".")
        if parts[0] == "pulleys" and len(parts) == 3:
            pulley = self.full["pulleys"][int(parts[1])]["name"] or ""
            return words.label("drive_number", "pulley." + parts[2]) + " of " + str(int(parts[1]) + 1) + " " + pulley
        return words.label("drive_number", path)

    def error(self, error) -> str:
        """Return the sentence that says why something cannot be told.

        Parameters:  error: the CoreError
        """
        if error.code == "number-missing":
            return "Needs " + self.name(error.field) + "."
        return words.sentence(error)
