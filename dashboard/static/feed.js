// The live feed: server-sent events with resume; polling once a second where no seat is left.

const TOPICS = ["rig", "source", "trial", "now", "class", "foretold"];
const SILENT_MS = 4000; // the server speaks at least once a second
const REOPEN_MS = 8000;
const TRY_STREAM_AGAIN_MS = 15000;
const POLL_MS = 1000;

/**
 * Follow the rig. `onMessage(topic, data)` gets the whole newest state of a topic;
 * `onTouch(inTouch)` is told when the numbers on the page go stale, and when they are fresh again.
 */
export function follow(onMessage, onTouch) {
  let stream = null;
  let polling = null;
  let lastId = "";
  let heard_ms = performance.now();
  let inTouch = true;

  function heard() {
    heard_ms = performance.now();
    if (!inTouch) onTouch((inTouch = true));
  }

  function openStream() {
    stream?.close();
    stream = new EventSource(`/live?after=${encodeURIComponent(lastId)}`);
    stream.onopen = () => {
      heard();
      stopPolling();
    };
    stream.addEventListener("beat", heard);
    for (const topic of TOPICS) {
      stream.addEventListener(topic, (event) => {
        lastId = event.lastEventId;
        heard();
        onMessage(topic, JSON.parse(event.data));
      });
    }
    stream.onerror = () => {
      // Refused (no seat): the browser gives up, so we poll. A broken line it mends by itself.
      if (stream.readyState === EventSource.CLOSED) startPolling();
    };
  }

  async function poll() {
    try {
      const answer = await fetch("/live/latest");
      if (!answer.ok) return;
      const { run, messages } = await answer.json();
      const seen = lastId.startsWith(`${run}-`) ? Number(lastId.slice(run.length + 1)) : 0;
      heard();
      for (const { id, topic, data } of messages) {
        if (id <= seen) continue;
        lastId = `${run}-${id}`;
        onMessage(topic, data);
      }
    } catch {
      // No answer: the watch below says so once it has lasted.
    }
  }

  function startPolling() {
    if (polling) return;
    const began_ms = performance.now();
    poll();
    polling = setInterval(() => {
      poll();
      if (performance.now() - began_ms > TRY_STREAM_AGAIN_MS) {
        stopPolling();
        openStream();
      }
    }, POLL_MS);
  }

  function stopPolling() {
    clearInterval(polling);
    polling = null;
  }

  setInterval(() => {
    const silent_ms = performance.now() - heard_ms;
    if (silent_ms > SILENT_MS && inTouch) onTouch((inTouch = false));
    if (silent_ms > REOPEN_MS && !polling) {
      heard_ms += SILENT_MS; // give the new stream its time before the next try
      openStream();
    }
  }, 1000);

  openStream();
}
