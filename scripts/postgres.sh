# Used by check: a private PostgreSQL from Debian's package, on a free port and in its own folder.

# start_postgres: sets GAITER_TEST_DATABASE; stop_postgres ends it and removes the folder.
start_postgres() {
    bin=$(ls -d /usr/lib/postgresql/*/bin 2>/dev/null | sort -V | tail -n 1)
    if [ -z "$bin" ]; then
        need_package postgresql
        bin=$(ls -d /usr/lib/postgresql/*/bin | sort -V | tail -n 1)
    fi
    postgres_folder=$(mktemp -d)
    postgres_port=$(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
    # PostgreSQL refuses to run as root; Debian's package brings an account for it.
    if [ "$(id -u)" = 0 ]; then
        chown postgres "$postgres_folder"
        as_postgres="runuser -u postgres --"
    else
        as_postgres=""
    fi
    $as_postgres "$bin/initdb" -D "$postgres_folder/data" -A trust -U gaiter -E UTF8 --locale=C.UTF-8 >/dev/null
    $as_postgres "$bin/pg_ctl" -D "$postgres_folder/data" -w -s -l "$postgres_folder/log" \
        -o "-p $postgres_port -c listen_addresses=127.0.0.1 -c unix_socket_directories=$postgres_folder -c fsync=off" start
    GAITER_TEST_DATABASE="postgresql://gaiter@127.0.0.1:$postgres_port/postgres"
}

stop_postgres() {
    $as_postgres "$bin/pg_ctl" -D "$postgres_folder/data" -s -m immediate stop || true
    rm -rf "$postgres_folder"
}
