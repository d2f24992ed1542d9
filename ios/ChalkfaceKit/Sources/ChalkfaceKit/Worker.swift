// The threads of the core: calls block, so none of them runs on the pool that `async` code shares.
import Dispatch

/// A queue of its own for an actor.
final class Worker: SerialExecutor {
    private let queue = DispatchQueue(label: "core", qos: .userInitiated)

    func enqueue(_ job: consuming ExecutorJob) {
        let job = UnownedJob(job)
        queue.async { job.runSynchronously(on: self.asUnownedSerialExecutor()) }
    }

    func asUnownedSerialExecutor() -> UnownedSerialExecutor { UnownedSerialExecutor(ordinary: self) }
}

/// Runs long work beside everything else.
struct Beside: Sendable {
    private let queue = DispatchQueue(label: "core-beside", qos: .utility)

    func run(_ work: @escaping @Sendable () throws -> Void) async -> Result<Void, any Error> {
        await withCheckedContinuation { done in
            queue.async { done.resume(returning: Result(catching: work)) }
        }
    }
}
