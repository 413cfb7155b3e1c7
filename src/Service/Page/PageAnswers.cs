using System.Text;
using Microsoft.AspNetCore.Http;
using HttpResults = Microsoft.AspNetCore.Http.Results;

namespace Acquire.Service.Page;

/// <summary>Answers that say what is wrong, as RFC 9457 has them, for people in <c>title</c>, <c>detail</c> and <c>problems</c>.</summary>
internal static class PageAnswers
{
    private const string Json = "application/json; charset=utf-8";

    /// <summary>The call is wrong: what, and what is allowed.</summary>
    public static IResult Wrong(params IReadOnlyList<string> problems) => Problem(StatusCodes.Status400BadRequest, "The call is wrong.", problems);

    /// <summary>It cannot be now.</summary>
    public static IResult NotNow(string why) => Problem(StatusCodes.Status409Conflict, why, []);

    /// <summary>There is none such.</summary>
    public static IResult None(string what) => Problem(StatusCodes.Status404NotFound, what, []);

    /// <summary>There is no run of a name.</summary>
    public static IResult NoRun(string name) => None($"There is no run '{Shown(name)}' in the library.");

    /// <summary>Too much is under way.</summary>
    public static IResult Busy(HttpContext context)
    {
        context.Response.Headers.RetryAfter = "2";
        return Problem(StatusCodes.Status503ServiceUnavailable, "Too much is asked at once; try again in a moment.", []);
    }

    /// <summary>A document that is JSON already.</summary>
    public static IResult Document(byte[] json) => HttpResults.Bytes(json, Json);

    /// <summary>The same of text.</summary>
    public static IResult Document(string json) => HttpResults.Text(json, Json, Encoding.UTF8);

    /// <summary>What a command answered.</summary>
    public static IResult Of(CommandAnswer? answer, HttpContext context) => answer switch
    {
        null => Busy(context),
        { Code: Commands.ExitCode.Done or Commands.ExitCode.No } => Document(answer.Json),
        { Code: Commands.ExitCode.WrongCall } => Problem(StatusCodes.Status422UnprocessableEntity, "This cannot be worked out.", answer.Problems),
        _ => Problem(StatusCodes.Status500InternalServerError, "It failed on the way.", answer.Problems),
    };

    /// <summary>Any other.</summary>
    public static IResult Problem(int status, string title, IReadOnlyList<string> problems) => HttpResults.Problem(
        problems.Count > 0 ? string.Join("; ", problems) : null, statusCode: status, title: title,
        extensions: problems.Count > 0 ? new Dictionary<string, object?> { ["problems"] = problems } : null);

    /// <summary>What a request named, fit to be shown.</summary>
    public static string Shown(string text)
    {
        string plain = new([.. text.Where(c => !char.IsControl(c)).Take(81)]);
        return plain.Length > 80 ? plain[..80] + "…" : plain;
    }
}
