"""Prints every package of this environment as `name==version`."""

from importlib.metadata import distributions

for package in distributions():
    print(f"{package.metadata['Name']}=={package.version}")
