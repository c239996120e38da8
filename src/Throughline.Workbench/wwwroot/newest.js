// Sends values one at a time: while one is on its way the newest of those that wait goes next, so that a slow answer never queues old ones.
export function newest(send, complaint) {
    let isSending = false;
    let isStopped = false;
    let waiting = null;
    let settled = Promise.resolve();
    return {
        get waiting() { return waiting; },
        get isBusy() { return isSending || waiting !== null; },
        /** Done when everything that was put has arrived. */
        get settled() { return settled; },
        stop() { isStopped = true; },
        put(value) {
            waiting = value;
            if (!isSending) settled = sendAll();
        },
    };

    async function sendAll() {
        isSending = true;
        try {
            while (waiting !== null && !isStopped) {
                const next = waiting;
                waiting = null;
                await send(next);
            }
        } catch (e) {
            if (!isStopped) console.warn(complaint, e);
        } finally {
            isSending = false;
        }
    }
}
