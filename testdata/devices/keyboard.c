/* keyboard: a virtual MIDI keyboard as a JACK client, with one output and one input. It stays until it is ended.
 *   keyboard NAME     plug it in; prints "ready" when its ports are there
 *   keyboard --ask    exit 0 if the JACK server answers, 1 if not
 * Build: cc -O2 -o keyboard keyboard.c -ljack */
#include <jack/jack.h>
#include <jack/midiport.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

static jack_port_t *out;
static volatile sig_atomic_t ended;

static int silence(jack_nframes_t frames, void *unused) {
    (void)unused;
    jack_midi_clear_buffer(jack_port_get_buffer(out, frames));
    return 0;
}

static void server_gone(void *unused) { (void)unused; ended = 1; }
static void told_to_end(int signal) { (void)signal; ended = 1; }

int main(int argc, char **argv) {
    if (argc != 2) {
        fprintf(stderr, "usage: keyboard NAME | keyboard --ask\n");
        return 2;
    }
    int ask = !strcmp(argv[1], "--ask");
    jack_client_t *client = jack_client_open(ask ? "ask" : argv[1], JackNoStartServer, NULL);
    if (!client) {
        fprintf(stderr, "keyboard: no JACK server\n");
        return 1;
    }
    if (ask) {
        jack_client_close(client);
        return 0;
    }
    out = jack_port_register(client, "out", JACK_DEFAULT_MIDI_TYPE, JackPortIsOutput | JackPortIsPhysical | JackPortIsTerminal, 0);
    jack_port_t *in = jack_port_register(client, "in", JACK_DEFAULT_MIDI_TYPE, JackPortIsInput | JackPortIsPhysical | JackPortIsTerminal, 0);
    if (!out || !in) {
        fprintf(stderr, "keyboard: JACK gives no ports\n");
        return 1;
    }
    signal(SIGTERM, told_to_end);
    signal(SIGINT, told_to_end);
    jack_on_shutdown(client, server_gone, NULL);
    jack_set_process_callback(client, silence, NULL);
    if (jack_activate(client)) {
        fprintf(stderr, "keyboard: JACK does not run it\n");
        return 1;
    }
    printf("ready\n");
    fflush(stdout);
    while (!ended) usleep(20000);
    jack_client_close(client);
    return 0;
}
