// Package local runs the private PostgreSQL that keeps netreel's data when no
// DATABASE_URL is given: the installed server binaries on a folder of our own,
// reached by a unix socket only, started and stopped with the program.
//
// What lies in the folder given to Start:
//
//	lock           held while a program uses the folder
//	data/          the cluster, owned by the user that PostgreSQL runs as
//	data.tmp/      a cluster in the making, renamed to data/ when complete
//	socket/        the unix socket, open to that user and to root alone
//	postgres.log   what the server says
//
// PostgreSQL refuses to run as root. Started by root, it runs as the user that
// owns the cluster already, else as postgres, else as nobody. It reaches its
// folders through handles that it inherits, so that the folders above them
// need not be open to that user: a data folder under /root works.
//
// The server lives as long as we do: should we be killed, the kernel tells it
// to stop; should it be killed, we start it again; and what an earlier run
// left behind is stopped before a new one begins.
//
// The package must not know tables or migrations. Only it and media/ffmpeg may
// start programs. It works on Linux alone; elsewhere Start says so.
package local
