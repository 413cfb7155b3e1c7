using System.Text.Json;

namespace Acquire.Service.Page;

/// <summary>Who one is, and the token that changes need.</summary>
internal sealed record SessionDocument(bool SignedIn, bool PasswordNeeded, string Token, string Software);

/// <summary>A try to sign in.</summary>
internal sealed record SignIn(string? Password);

/// <summary>Whether a launch is a run by itself.</summary>
internal sealed record AutomaticDocument(bool Automatic);

/// <summary>A set-up for the next run.</summary>
internal sealed record NextOrder(SetupDocument Setup);

/// <summary>Values of earlier runs, the last first.</summary>
internal sealed record EarlierSetups(IReadOnlyList<string> Top, IReadOnlyList<string> Base, IReadOnlyList<string> Cover, IReadOnlyList<string> Operator, IReadOnlyList<EarlierFactor> Factors, IReadOnlyList<SetupDocument> Recent);

/// <summary>Values of a factor.</summary>
internal sealed record EarlierFactor(string Name, IReadOnlyList<double> Values);

/// <summary>A run as a whole.</summary>
/// <param name="Run">Its name.</param>
/// <param name="Acquire">The descriptor's object <c>acquire</c>.</param>
/// <param name="Files">What can be fetched of it.</param>
/// <param name="Report">Whether it has a page of its own.</param>
internal sealed record RunDocument(string Run, JsonElement Acquire, IReadOnlyList<RunFileDocument> Files, bool Report);

/// <summary>A file of a run.</summary>
internal sealed record RunFileDocument(string Name, long? Bytes, string What);

/// <summary>Columns of speed.csv, thinned.</summary>
internal sealed record CurveDocument(
    string Run, double? ReleaseS, double? StopS, IReadOnlyList<double> TimesS, IReadOnlyList<double> Rpm, IReadOnlyList<double> URpm, IReadOnlyList<double> DecelRpmS, IReadOnlyList<double> UDecelRpmS);

/// <summary>Events of a run.</summary>
internal sealed record EventsDocument(IReadOnlyList<EventDocument> Events);

/// <summary>An event of a run.</summary>
internal sealed record EventDocument(double TimeS, string Event, string Detail);

/// <summary>Changes of a run, as <c>acquire edit</c> makes them; what is not there stays.</summary>
internal sealed record RunPatch(string? Top, string? Base, string? Cover, string? Operator, string? Note, Dictionary<string, double?>? Factors, string? Spoilt, string? Rename);

/// <summary>Names of runs.</summary>
internal sealed record NamesDocument(IReadOnlyList<string> Runs);

/// <summary>A run's name.</summary>
internal sealed record NameDocument(string Run);

/// <summary>What this is.</summary>
internal sealed record AboutDocument(string Software, string Library, IReadOnlyList<string> Listen, AboutCapture? Capture);

/// <summary>The capture beside the page.</summary>
internal sealed record AboutCapture(string Source, int Marks, string Format, double TimeScale);
