"""Files as typed and as written: YAML with its places, a finding at its place, whole files and
folders."""
