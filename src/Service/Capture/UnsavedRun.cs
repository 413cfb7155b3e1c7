using Acquire.Recording;

namespace Acquire.Service.Capture;

/// <summary>A run that a journal holds and that is to be made into a package.</summary>
/// <param name="Journal">Path of the journal.</param>
/// <param name="FirstPulse">Ordinal of the run's first pulse in it.</param>
/// <param name="LastPulse">Ordinal of its last; <see cref="long.MaxValue"/> for the journal's last.</param>
/// <param name="Reason">Why it ended: one of <see cref="EndReasons"/>.</param>
/// <param name="MayBeSaved">True where it may be in the library already.</param>
public sealed record UnsavedRun(string Journal, long FirstPulse, long LastPulse, string Reason, bool MayBeSaved = false);
