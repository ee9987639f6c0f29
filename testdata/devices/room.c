/* room: the air between a virtual speaker and a virtual microphone, as a JACK client: what a program plays comes back to it some frames later. It stays until it is ended, and
 * joins each stream that the program opens.
 *   room FRAMES GAIN    prints "ready", and at the end "xruns N"
 * The way round takes FRAMES, one period for the ring in the graph, and what the program itself needs.
 * Build: cc -O2 -o room room.c -ljack */
#include <jack/jack.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static float *air;
static long size, at;
static float gain;
static jack_client_t *client;
static jack_port_t *ear, *mouth;
static volatile sig_atomic_t ended, xruns;

static int process(jack_nframes_t frames, void *unused) {
    (void)unused;
    float *in = jack_port_get_buffer(ear, frames), *out = jack_port_get_buffer(mouth, frames);
    for (jack_nframes_t i = 0; i < frames; i++, at++) {
        float heard = in[i]; /* the two buffers may be one */
        if (!size) {
            out[i] = gain * heard;
            continue;
        }
        out[i] = gain * air[at % size];
        air[at % size] = heard;
    }
    return 0;
}

static void server_gone(void *unused) { (void)unused; ended = 1; }
static void told_to_end(int signal) { (void)signal; ended = 1; }
static int slipped(void *unused) { (void)unused; xruns++; return 0; }

static void fail(const char *what) {
    fprintf(stderr, "room: %s\n", what);
    exit(1);
}

/* join connects a port with the first port of PortAudio on that side. */
static void join(jack_port_t *port, const char *pattern, unsigned long side) {
    if (jack_port_connected(port)) return;
    const char **found = jack_get_ports(client, pattern, JACK_DEFAULT_AUDIO_TYPE, side);
    if (!found) return;
    if (side == JackPortIsInput) jack_connect(client, jack_port_name(port), found[0]);
    else jack_connect(client, found[0], jack_port_name(port));
    jack_free(found);
}

int main(int argc, char **argv) {
    if (argc != 3) fail("usage: room FRAMES GAIN");
    size = atol(argv[1]);
    gain = atof(argv[2]);
    air = calloc(size + 1, sizeof *air);
    client = jack_client_open("room", JackNoStartServer, NULL);
    if (!client) fail("no JACK server");
    ear = jack_port_register(client, "ear", JACK_DEFAULT_AUDIO_TYPE, JackPortIsInput, 0);
    mouth = jack_port_register(client, "mouth", JACK_DEFAULT_AUDIO_TYPE, JackPortIsOutput, 0);
    if (!air || size < 0 || !ear || !mouth) fail("no room, or no ports");
    signal(SIGTERM, told_to_end);
    signal(SIGINT, told_to_end);
    jack_on_shutdown(client, server_gone, NULL);
    jack_set_xrun_callback(client, slipped, NULL);
    jack_set_process_callback(client, process, NULL);
    if (jack_activate(client)) fail("JACK does not run it");
    printf("ready\n");
    fflush(stdout);
    for (; !ended; usleep(5000)) {
        join(mouth, "^PortAudio:in_", JackPortIsInput);
        join(ear, "^PortAudio:out_", JackPortIsOutput);
    }
    printf("xruns %d\n", (int)xruns);
    fflush(stdout);
    jack_client_close(client);
    return 0;
}
