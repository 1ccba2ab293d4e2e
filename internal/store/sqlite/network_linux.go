package sqlite

import "syscall"

// networks are the file systems that live on another machine, by the number statfs gives. [man-statfs]
var networks = map[uint32]string{
	0x6969:     "NFS",
	0x517b:     "SMB",
	0xfe534d42: "SMB2",
	0xff534d42: "CIFS",
	0x564c:     "NCP",
	0x5346414f: "AFS",
	0x01021997: "9P",
}

// NetworkOf returns the name of the network file system that holds dir; ok is false for a disk of this machine.
func NetworkOf(dir string) (name string, ok bool) {
	var s syscall.Statfs_t
	if syscall.Statfs(dir, &s) != nil {
		return "", false
	}
	name, ok = networks[uint32(s.Type)] //nolint:gosec // within range by construction
	return name, ok
}
